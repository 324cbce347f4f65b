/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize rules: for anyone. Lists the rules; explains one: what it asks, who asks for it and where it is written, the
 * parameters in force and where each comes from, what to do, and an example. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "commands/limits.h"
#include "commands/open.h"
#include "reports/phrases.h"
#include "reports/wrapped.h"
#include "rulebook/examples.h"

static const struct option_row options[] = {
    {"in", "DIR", "show the parameters in force at this site or program folder", false},
    {"rules", "FOLDER", "add the rules of a folder of yours", true},
    {NULL, NULL, NULL, false},
};

struct explaining {
    struct output *output;
    struct arena *arena;
    size_t width;
    const struct rulebook *book;
    const struct rule *rule;
    const struct opened *opened; /* NULL: no folder was named */
};

/* The blanks in front, or a word as wide, then the text; its further lines are indented as the first. */
static void paragraph(const struct explaining *at, const char *first, struct text text)
{
    wrapped_print(at->output, at->width, text_of(first), strlen(first), text);
}

static void print_list(const struct rulebook *book)
{
    for (size_t i = 0; i < book->count; i++) {
        const struct rule_text *rule = &book->rules[i].text;
        printf("%-28.*s %-9s %.*s\n", TEXT_FORMAT(rule->id), rule->by ? "by clause" : severity_name(rule->severity),
               TEXT_FORMAT(rule->title));
    }
}

static void print_asked(const struct explaining *at)
{
    const struct rule *rule = at->rule;
    output_print(at->output, "%.*s\n", TEXT_FORMAT(rule->text.id));
    paragraph(at, "  ", rule->text.title);
    if (rule->about.data)
        paragraph(at, "  ", rule->about);
    output_text(at->output, TEXT("\n"));
    if (rule->text.by) {
        paragraph(at, "Severity  ", TEXT("breach where law or the package insert asks for it, else practice"));
        paragraph(at, "Asked by  ", TEXT("whoever the method file names (by:) at the clause"));
    } else {
        paragraph(
            at, "Severity  ",
            text_print(at->arena, "%s: %s", severity_name(rule->text.severity), severity_meaning(rule->text.severity)));
        paragraph(at, "Asked by  ", text_of(duty_asker(rule->text.duty)));
    }
    for (size_t i = 0; i < rule->text.basis_count; i++)
        paragraph(at, i ? "          " : "Basis     ", rule->text.basis[i]);
    if (rule->needs)
        paragraph(at, "Needs     ",
                  text_print(at->arena, "the %s log; not judged where none is kept", rule->needs->name));
}

/* ---- parameters in force ---- */

/* "from methods/hba1c-strip.yaml:24" */
static struct text origin_text(const struct explaining *at, enum parameter_origin origin, struct where where)
{
    static const char *const names[] = {"", "the site's policy, ", "the program's policy, "};
    if (origin == FROM_RULE)
        return TEXT("the rule's default");
    struct text file = where.file;
    settings_of_program(&file);
    return text_print(at->arena, "from %s%.*s:%" PRIu32, names[origin], TEXT_FORMAT(file), where.line);
}

/* At one site, for one method or, if it is NULL, for all. True if somebody set it. */
static bool print_setting(const struct explaining *at, const struct rule_parameter *parameter,
                          const struct site_settings *site, const struct method_settings *method)
{
    enum parameter_origin origin;
    struct policies policies = {&site->policy, &at->opened->program.policy};
    struct parameter_value value = parameter_in_force(at->rule, parameter, method, &policies, &origin);
    if (origin == FROM_RULE)
        return false;
    struct where where = parameter_where(at->rule, parameter, method, &policies);
    struct text of_method = method ? text_print(at->arena, ", %.*s", TEXT_FORMAT(method->method)) : TEXT("");
    paragraph(at, "      ",
              text_print(at->arena, "%.*s%.*s: %.*s, %.*s", TEXT_FORMAT(site->site), TEXT_FORMAT(of_method),
                         TEXT_FORMAT(parameter_with_unit(parameter, value, at->arena)),
                         TEXT_FORMAT(origin_text(at, origin, where))));
    return true;
}

static void print_in_force(const struct explaining *at, const struct rule_parameter *parameter)
{
    bool some_set = false, some_not = false;
    for (size_t s = 0; s < at->opened->site_count; s++) {
        const struct site_settings *site = at->opened->sites[s].settings;
        size_t methods = site && parameter->method_key ? site->method_count : 0;
        for (size_t m = 0; site && m < (methods ? methods : 1); m++) {
            bool set = print_setting(at, parameter, site, methods ? &site->methods[m] : NULL);
            some_set = some_set || set;
            some_not = some_not || !set;
        }
    }
    if (some_not)
        paragraph(at, "      ",
                  text_print(at->arena, "%s: %.*s, the rule's default", some_set ? "everywhere else" : "everywhere",
                             TEXT_FORMAT(parameter_with_unit(parameter, parameter->standard, at->arena))));
}

static void print_parameters(const struct explaining *at)
{
    const struct rule *rule = at->rule;
    if (rule->parameter_count)
        output_text(at->output, at->opened ? TEXT("\nParameters in force here\n") : TEXT("\nParameters\n"));
    for (size_t i = 0; i < rule->parameter_count; i++) {
        const struct rule_parameter *parameter = &rule->parameters[i];
        paragraph(at, "  ",
                  text_print(at->arena, "%.*s: %.*s", TEXT_FORMAT(parameter->name), TEXT_FORMAT(parameter->meaning)));
        if (parameter->has_off)
            paragraph(at, "      ", text_print(at->arena, "%.10g switches the rule off", parameter->off));
        struct text standard = parameter_with_unit(parameter, parameter->standard, at->arena);
        if (at->opened)
            print_in_force(at, parameter);
        else
            paragraph(at, "      ",
                      text_print(at->arena,
                                 "%.*s if nobody says otherwise: the policy (%.*s: {%.*s: …}) of site.yaml or "
                                 "program.yaml%s%s",
                                 TEXT_FORMAT(standard), TEXT_FORMAT(rule->text.id), TEXT_FORMAT(parameter->name),
                                 parameter->method_key ? ", and before them the method "
                                                         "file by "
                                                       : "",
                                 parameter->method_key ? parameter->method_key : ""));
    }
}

static void print_off(const struct explaining *at)
{
    for (size_t s = 0; s < at->opened->site_count; s++) {
        const struct opened_site *site = &at->opened->sites[s];
        struct policies policies = {site->settings ? &site->settings->policy : NULL, &at->opened->program.policy};
        struct text why;
        if (!site->settings)
            paragraph(at, "Not read  ", site->why);
        else if (rule_is_off(at->rule, &policies, at->arena, &why))
            paragraph(at, "Off at    ", text_print(at->arena, "%.*s: %.*s", TEXT_FORMAT(site->site), TEXT_FORMAT(why)));
    }
}

/* ---- an example ---- */

static void print_example(const struct explaining *at, const struct example_told *told)
{
    output_text(at->output, TEXT("\n"));
    paragraph(at, "An example: ", told->name);
    paragraph(at, "  ",
              text_print(at->arena,
                         "At an invented site where nothing else is wrong, from %.*s to %.*s, the logs hold:",
                         TEXT_FORMAT(told->from), TEXT_FORMAT(told->to)));
    for (size_t i = 0; i < told->given_count; i++)
        paragraph(at, "    - ", told->given[i]);
    if (!told->given_count)
        paragraph(at, "    - ", TEXT("nothing more"));
    output_text(at->output, TEXT("  The rule finds:\n"));
    for (size_t i = 0; i < told->found_count; i++)
        paragraph(at, "    - ", told->found[i]);
    if (!told->found_count)
        paragraph(at, "    - ", TEXT("nothing"));
}

static bool explain(const struct explaining *at, const char *home, struct fault *fault)
{
    AUTO(example_site) site = NULL;
    struct example_told told;
    if (!example_site_open(&site, home, fault) || !example_tell(site, at->book, at->rule, at->arena, &told, fault))
        return false;
    print_asked(at);
    if (at->opened)
        print_off(at);
    output_text(at->output, TEXT("\nWhat to do\n"));
    paragraph(at, "  ", at->rule->text.remedy);
    print_parameters(at);
    print_example(at, &told);
    if (text_is(at->rule->text.id, "comparison.acceptance") && !limits_print(home, at->width, at->output, fault))
        return false;
    output_print(at->output, "\nFile      %.*s\n", TEXT_FORMAT(at->rule->file));
    return true;
}

static bool explain_rule(const struct rulebook *book, const struct rule *rule, const struct opened *opened,
                         struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct output *output = output_stream(stdout);
    struct explaining at = {output, arena, wrapped_width(), book, rule, opened};
    char *home = NULL;
    bool good = rulebook_home(&home, fault) && explain(&at, home, fault);
    memory_free(home);
    if (good)
        return output_close(output, fault);
    output_free(output);
    return false;
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    AUTO(rulebook) book = rulebook_installed(arguments, fault);
    AUTO(opened) opened = NULL;
    if (!book)
        return STATUS_FAILED;
    const char *folder = argument_text(arguments, "in"), *id = argument_word(arguments, 0);
    if (folder && !opened_read(&opened, folder, fault))
        return STATUS_FAILED;
    if (!id) {
        print_list(book);
        return STATUS_DONE;
    }
    const struct rule *rule = rulebook_find(book, text_of(id));
    if (!rule) {
        fault_set(fault, FAULT_USAGE, "%s: no such rule; `assize rules` lists them", id);
        return STATUS_FAILED;
    }
    return explain_rule(book, rule, opened, fault) ? STATUS_DONE : STATUS_FAILED;
}

const struct command command_rules = {
    .name = "rules",
    .for_whom = "anyone",
    .usage = "[RULE]",
    .summary = "lists the rules, or explains one",
    .example = "assize rules lots.expired --in sample-site",
    .options = options,
    .words_least = 0,
    .words_most = 1,
    .run = run,
};
