/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/catalogue.h"

#include <string.h>

#include "reports/phrases.h"

static const char introduction[] =
    "# The rules\n"
    "\n"
    "What the rulebook asks, rule by rule. This page is made from the rule files in `rules/` by `make docs`, read as "
    "an "
    "audit\n"
    "reads them; change a rule, not the page. `assize rules RULE --in DIR` says the same of one rule, with the "
    "parameters "
    "in\n"
    "force in a folder and an example; [rules.md](rules.md) tells how to write one.\n"
    "\n"
    "A rule that is in force for your site is asked for by somebody: the law, the package insert, the accreditor, the "
    "site's\n"
    "own policy, or good practice. `policy` in site.yaml or program.yaml sets a parameter\n"
    "(`records.late: {max_hours: 48}`) or switches a rule off with a reason (`records.late: {off: \"…\"}`). The "
    "package "
    "insert,\n"
    "state and local rules and the laboratory director decide what binds you.\n";

/* As Markdown shows it: what would be markup is escaped. */
static void print_plain(struct output *output, struct text text)
{
    for (size_t i = 0; i < text.size; i++) {
        if (strchr("<*|[]", text.data[i]) != NULL)
            output_text(output, TEXT("\\"));
        output_bytes(output, text.data + i, 1);
    }
}

static struct text theme_of(const struct rule *rule)
{
    const char *dot = memchr(rule->text.id.data, '.', rule->text.id.size);
    return (struct text){rule->text.id.data, dot != NULL ? (size_t)(dot - rule->text.id.data) : rule->text.id.size};
}

static bool begins_theme(const struct rulebook *book, size_t i)
{
    return i == 0 || !text_equal(theme_of(&book->rules[i]), theme_of(&book->rules[i - 1]));
}

/* To the rule's own heading below: of which the viewers of such pages leave out the dot. */
static void print_link(struct output *output, struct text id)
{
    output_print(output, "[%.*s](#", TEXT_FORMAT(id));
    for (size_t i = 0; i < id.size; i++)
        if (id.data[i] != '.')
            output_bytes(output, id.data + i, 1);
    output_text(output, TEXT(")"));
}

/* Its rules in short: id, what it asks, severity, who asks. */
static void print_theme(const struct rulebook *book, size_t first, struct output *output)
{
    output_print(output, "\n## %.*s\n\n| rule | what it asks | severity | asked by |\n| --- | --- | --- | --- |\n",
                 TEXT_FORMAT(theme_of(&book->rules[first])));
    for (size_t i = first; i < book->count && (i == first || !begins_theme(book, i)); i++) {
        const struct rule_text *rule = &book->rules[i].text;
        output_text(output, TEXT("| "));
        print_link(output, rule->id);
        output_text(output, TEXT(" | "));
        print_plain(output, rule->title);
        if (rule->by)
            output_text(output, TEXT(" | breach or practice | whoever the clause names |\n"));
        else
            output_print(output, " | %s | %s |\n", severity_name(rule->severity), duty_asker(rule->duty));
    }
}

static void print_severity(const struct rule_text *rule, struct output *output)
{
    if (rule->by)
        output_text(output, TEXT("- Severity: breach where the clause's `by` is the law or the package insert, else "
                                 "practice\n"));
    else
        output_print(output, "- Severity: %s\n- Asked by: %s\n", severity_name(rule->severity), duty_asker(rule->duty));
    output_text(output, TEXT("- Basis: "));
    for (size_t i = 0; i < rule->basis_count; i++) {
        output_text(output, i > 0 ? TEXT("; ") : TEXT(""));
        print_plain(output, rule->basis[i]);
    }
    output_text(output, TEXT("\n"));
}

/* "`days`: how long a clock check lasts (default: 90 days; 0 switches the rule off)" */
static void print_parameter(const struct rule_parameter *parameter, struct output *output)
{
    AUTO(arena) arena = arena_new();
    output_print(output, "- Parameter `%.*s`: ", TEXT_FORMAT(parameter->name));
    print_plain(output, parameter->meaning);
    output_text(output, parameter->standard.present ? TEXT(" (default: ") : TEXT(" (no default"));
    if (parameter->standard.present)
        print_plain(output, parameter_with_unit(parameter, parameter->standard, arena));
    if (parameter->has_off)
        output_print(output, "; %.10g switches the rule off", parameter->off);
    if (parameter->method_key != NULL)
        output_print(output, "; `%s` of the method file goes before", parameter->method_key);
    output_text(output, TEXT(")\n"));
}

static void print_rule(const struct rule *rule, struct output *output)
{
    output_print(output, "\n### %.*s\n\n", TEXT_FORMAT(rule->text.id));
    print_plain(output, rule->text.title);
    output_text(output, TEXT(".\n"));
    if (rule->about.data != NULL) {
        print_plain(output, rule->about);
        output_text(output, TEXT("\n"));
    }
    output_text(output, TEXT("\n"));
    print_severity(&rule->text, output);
    if (rule->needs != NULL)
        output_print(output, "- Not judged where no `%s` log is kept\n", rule->needs->name);
    for (size_t i = 0; i < rule->parameter_count; i++)
        print_parameter(&rule->parameters[i], output);
    output_text(output, TEXT("- What to do: "));
    print_plain(output, rule->text.remedy);
    output_text(output, TEXT("\n"));
}

void catalogue_print(const struct rulebook *book, struct output *output)
{
    output_text(output, text_of(introduction));
    output_text(output, TEXT("\n| severity | |\n| --- | --- |\n"));
    for (int i = 0; i < SEVERITY_COUNT; i++)
        output_print(output, "| %s | %s |\n", severity_name((enum severity)i), severity_meaning((enum severity)i));
    for (size_t i = 0; i < book->count; i++) {
        if (begins_theme(book, i))
            print_theme(book, i, output);
        print_rule(&book->rules[i], output);
    }
}
