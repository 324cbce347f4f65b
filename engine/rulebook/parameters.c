/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "records/cell.h"
#include "rulebook/rulebook.h"

static const struct policy_entry *entry_of(const struct policy *policy, struct text rule)
{
    for (size_t i = 0; policy && i < policy->count; i++)
        if (text_equal(policy->entries[i].rule, rule))
            return &policy->entries[i];
    return NULL;
}

static const struct policy_value *value_of(const struct policy *policy, struct text rule, struct text parameter)
{
    const struct policy_entry *entry = entry_of(policy, rule);
    for (size_t i = 0; entry && i < entry->value_count; i++)
        if (text_equal(entry->values[i].name, parameter))
            return &entry->values[i];
    return NULL;
}

static bool read_yes_no(struct text text, bool *out)
{
    static const struct column yes_no = {"", CELL_YES_NO, 0, NULL, NULL, NULL};
    struct cell cell;
    const char *why;
    if (!text.size || !cell_parse(&yes_no, text, &cell, &why))
        return false;
    *out = cell.whole;
    return true;
}

/* A setting's text in the parameter's type; absent if it is not of it. */
static struct parameter_value typed(const struct rule_parameter *parameter, struct text text)
{
    struct parameter_value value = {.text = text};
    switch (parameter->type) {
    case PARAMETER_NUMBER:
        value.present = decimal_valid(text);
        if (value.present)
            value.number = decimal_double(text);
        break;
    case PARAMETER_YES_NO:
        value.present = read_yes_no(text, &value.yes);
        break;
    default:
        value.present = text.size > 0;
        break;
    }
    return value;
}

struct parameter_value parameter_in_force(const struct rule *rule, const struct rule_parameter *parameter,
                                          const struct method_settings *method, const struct policies *policies,
                                          enum parameter_origin *origin)
{
    const struct policy *in_turn[] = {policies->site, policies->program};
    enum parameter_origin found;
    if (!origin)
        origin = &found;
    if (method && parameter->method_key) {
        const struct setting_line *line = settings_line(method, parameter->method_key);
        *origin = FROM_METHOD_FILE;
        if (line)
            return typed(parameter, line->value);
    }
    for (size_t i = 0; i < 2; i++) {
        const struct policy_value *value = value_of(in_turn[i], rule->text.id, parameter->name);
        *origin = i == 0 ? FROM_SITE_POLICY : FROM_PROGRAM_POLICY;
        if (value)
            return typed(parameter, value->value);
    }
    *origin = FROM_RULE;
    return parameter->standard;
}

struct where parameter_where(const struct rule *rule, const struct rule_parameter *parameter,
                             const struct method_settings *method, const struct policies *policies)
{
    const struct setting_line *line =
        method && parameter->method_key ? settings_line(method, parameter->method_key) : NULL;
    if (line)
        return (struct where){method->where.file, line->line};
    const struct policy_value *value = value_of(policies->site, rule->text.id, parameter->name);
    if (!value)
        value = value_of(policies->program, rule->text.id, parameter->name);
    return value ? value->where : (struct where){0};
}

struct text parameter_text(const struct rule_parameter *parameter, struct parameter_value value, struct arena *arena)
{
    if (!value.present)
        return TEXT("none");
    if (parameter->type == PARAMETER_YES_NO)
        return value.yes ? TEXT("yes") : TEXT("no");
    if (parameter->type == PARAMETER_NUMBER)
        return text_print(arena, "%.10g", value.number);
    return value.text.size ? value.text : TEXT("none");
}

struct text parameter_with_unit(const struct rule_parameter *parameter, struct parameter_value value,
                                struct arena *arena)
{
    struct text text = parameter_text(parameter, value, arena);
    if (!value.present)
        return TEXT("not set");
    return parameter->unit.data ? text_print(arena, "%.*s %.*s", TEXT_FORMAT(text), TEXT_FORMAT(parameter->unit))
                                : text;
}

bool rule_is_off(const struct rule *rule, const struct policies *policies, struct arena *arena, struct text *why)
{
    const struct policy *in_turn[] = {policies->site, policies->program};
    for (size_t i = 0; i < 2; i++) {
        const struct policy_entry *entry = entry_of(in_turn[i], rule->text.id);
        if (!entry || !entry->off)
            continue;
        *why = entry->reason;
        return true;
    }
    for (size_t i = 0; i < rule->parameter_count; i++) {
        const struct rule_parameter *parameter = &rule->parameters[i];
        struct parameter_value value = parameter_in_force(rule, parameter, NULL, policies, NULL);
        if (!parameter->has_off || !value.present || value.number != parameter->off)
            continue;
        *why = text_print(arena, "%.*s: %g", TEXT_FORMAT(parameter->name), parameter->off);
        return true;
    }
    return false;
}

struct text policy_sets(const struct rule *rule, const struct policies *policies, struct arena *arena)
{
    struct text sets = {NULL, 0};
    for (size_t i = 0; i < rule->parameter_count; i++) {
        const struct rule_parameter *parameter = &rule->parameters[i];
        enum parameter_origin origin;
        struct parameter_value value = parameter_in_force(rule, parameter, NULL, policies, &origin);
        struct text set = parameter_with_unit(parameter, value, arena);
        struct text standard = parameter_with_unit(parameter, parameter->standard, arena);
        if (origin == FROM_RULE || text_equal(set, standard))
            continue;
        struct where where = parameter_where(rule, parameter, NULL, policies);
        settings_of_program(&where.file);
        sets = text_print(arena, "%.*s%s%.*s: %.*s instead of %.*s (%.*s:%u)", TEXT_FORMAT(sets),
                          sets.size > 0 ? "; " : "", TEXT_FORMAT(parameter->name), TEXT_FORMAT(set),
                          TEXT_FORMAT(standard), TEXT_FORMAT(where.file), where.line);
    }
    return sets;
}

/* "sites/east/site.yaml:36: policy.records.late", as seen from the folder of the audit. */
static struct text policy_place(struct text folder, struct where where, struct text rule, struct arena *arena)
{
    struct text file = where.file;
    if (settings_of_program(&file))
        folder = TEXT("");
    return text_print(arena, "%.*s%.*s:%u: policy.%.*s", TEXT_FORMAT(folder), TEXT_FORMAT(file), where.line,
                      TEXT_FORMAT(rule));
}

static bool parameter_fault(const struct policy_entry *entry, const struct policy_value *value, const struct rule *rule,
                            struct text folder, struct arena *arena, struct fault *fault)
{
    struct text place = policy_place(folder, value->where, entry->rule, arena);
    const char *names[RULE_PARAMETERS_MOST + 1] = {NULL};
    for (size_t i = 0; i < rule->parameter_count; i++) {
        const struct rule_parameter *parameter = &rule->parameters[i];
        names[i] = parameter->name.data;
        if (!text_equal(parameter->name, value->name))
            continue;
        if (typed(parameter, value->value).present)
            return true;
        return fault_set(fault, FAULT_SETTINGS, "%.*s.%.*s: %.*s: must be a %s", TEXT_FORMAT(place),
                         TEXT_FORMAT(value->name), TEXT_FORMAT(value->value), parameter_type_name(parameter->type));
    }
    const char *near = text_nearest(value->name, names);
    struct text hint = near ? text_print(arena, ", did you mean '%s'?", near) : TEXT("");
    return fault_set(fault, FAULT_SETTINGS, "%.*s.%.*s: the rule has no such parameter%.*s", TEXT_FORMAT(place),
                     TEXT_FORMAT(value->name), TEXT_FORMAT(hint));
}

bool policy_check(const struct rulebook *book, const struct policy *policy, struct text folder, struct arena *arena,
                  struct audit *warnings, struct fault *fault)
{
    for (size_t i = 0; i < policy->count; i++) {
        const struct policy_entry *entry = &policy->entries[i];
        const struct rule *rule = rulebook_find(book, entry->rule);
        if (!rule && warnings)
            audit_add_warning(warnings,
                              text_print(arena, "%.*s: no loaded rule has this id",
                                         TEXT_FORMAT(policy_place(folder, entry->where, entry->rule, arena))));
        for (size_t v = 0; rule && v < entry->value_count; v++)
            if (!parameter_fault(entry, &entry->values[v], rule, folder, arena, fault))
                return false;
    }
    return true;
}
