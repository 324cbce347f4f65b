/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize rules: for anyone. Lists the rules; explains one: what it asks, who asks for it and where it is written, the
 * parameters in force and where each comes from, what to do, and an example. */
#include <stdio.h>

#include "commands/open.h"
#include "rulebook/rulebook.h"

static const struct option_row options[] = {
    {"in", "DIR", "show the parameters in force at this site or program folder", false},
    {"rules", "FOLDER", "add the rules of a folder of yours", true},
    {NULL, NULL, NULL, false},
};

static void print_list(const struct rulebook *book)
{
    for (size_t i = 0; i < book->count; i++) {
        const struct rule_text *rule = &book->rules[i].text;
        printf("%-28.*s %-9s %.*s\n", TEXT_FORMAT(rule->id), rule->by ? "by clause" : severity_name(rule->severity),
               TEXT_FORMAT(rule->title));
    }
}

static const char *origin_name(enum parameter_origin origin)
{
    static const char *const names[] = {"the method file", "the site's policy", "the program's policy", "the rule"};
    return names[origin];
}

static void print_value(const struct rule_parameter *parameter, struct parameter_value value)
{
    if (!value.present)
        printf("not set");
    else if (parameter->type == PARAMETER_NUMBER)
        printf("%g", value.number);
    else if (parameter->type == PARAMETER_YES_NO)
        printf("%s", value.yes ? "yes" : "no");
    else
        printf("%.*s", TEXT_FORMAT(value.text));
    if (value.present && parameter->unit.data)
        printf(" %.*s", TEXT_FORMAT(parameter->unit));
}

static void print_in_force(const struct rule *rule, const struct rule_parameter *parameter, const struct opened *opened)
{
    for (size_t s = 0; s < opened->site_count; s++) {
        const struct site_settings *site = opened->sites[s].settings;
        struct policies policies = {site ? &site->policy : NULL, &opened->program.policy};
        size_t methods = site && parameter->method_key ? site->method_count : 0;
        for (size_t m = 0; site && m < (methods ? methods : 1); m++) {
            enum parameter_origin origin;
            const struct method_settings *method = methods ? &site->methods[m] : NULL;
            printf("      %.*s", TEXT_FORMAT(site->site));
            if (method)
                printf(", %.*s", TEXT_FORMAT(method->method));
            printf(": ");
            print_value(parameter, parameter_in_force(rule, parameter, method, &policies, &origin));
            printf(", from %s\n", origin_name(origin));
        }
    }
}

static void print_parameters(const struct rule *rule, const struct opened *opened)
{
    if (rule->parameter_count)
        printf("\nParameters\n");
    for (size_t i = 0; i < rule->parameter_count; i++) {
        const struct rule_parameter *parameter = &rule->parameters[i];
        printf("  %.*s: %.*s (default: ", TEXT_FORMAT(parameter->name), TEXT_FORMAT(parameter->meaning));
        print_value(parameter, parameter->standard);
        printf(")\n");
        if (opened)
            print_in_force(rule, parameter, opened);
    }
}

static void print_rule(const struct rule *rule, const struct opened *opened)
{
    const struct rule_text *text = &rule->text;
    printf("%.*s\n  %.*s\n\n", TEXT_FORMAT(text->id), TEXT_FORMAT(text->title));
    if (text->by)
        printf("Severity  breach if law or the package insert asks for it, else practice\n");
    else
        printf("Severity  %s\nAsked by  %s\n", severity_name(text->severity), duty_name(text->duty));
    for (size_t i = 0; i < text->basis_count; i++)
        printf("%s%.*s\n", i ? "          " : "Basis     ", TEXT_FORMAT(text->basis[i]));
    printf("\nWhat to do\n  %.*s\n", TEXT_FORMAT(text->remedy));
    print_parameters(rule, opened);
    printf("\nFile      %.*s (its examples are run by `assize check-rules`)\n", TEXT_FORMAT(rule->file));
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
    print_rule(rule, opened);
    return STATUS_DONE;
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
