/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/settings_inside.h"
#include "records/cell.h"

/* `off: no` is no reason, though it reads as if the rule were on: yes/no words are refused. */
static bool read_off(const struct fields *fields, const struct node *node, const char *name, struct policy_entry *entry)
{
    static const struct column yes_no = {.type = CELL_YES_NO};
    static const struct field reason = {.key = "off", .type = FIELD_TEXT};
    struct cell cell;
    const char *why;
    if (!fields_scalar(fields, node, name, &reason, &entry->reason))
        return false;
    if (cell_parse(&yes_no, entry->reason, &cell, &why))
        return fields_fault(fields, node, name,
                            "%.*s: say in words why the rule is off; to leave it on, remove the line",
                            TEXT_FORMAT(entry->reason));
    entry->off = true;
    return true;
}

enum { VALUE_MOST = 4000 }; /* bytes: reports tell it, and take long to set more */

/* The values of one rule: parameters as text, for the rule gives them their type; or `off` with a reason. */
static bool read_entry(const struct fields *fields, const struct node *node, const char *name,
                       struct policy_entry *entry)
{
    if (!fields_is(fields, node, NODE_MAP, name))
        return false;
    entry->rule = node->key;
    entry->where = fields_where(fields, node);
    entry->values = arena_take(fields->arena, fields_count(node) * sizeof *entry->values + 1);
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        const char *child_name = fields_name(fields, name, child->key);
        struct policy_value value = {.name = child->key, .where = fields_where(fields, child)};
        if (text_is(child->key, "off")) {
            if (!read_off(fields, child, child_name, entry))
                return false;
            continue;
        }
        if (child->kind == NODE_SCALAR && !fields_is(fields, child, NODE_SCALAR, child_name))
            return false;
        if (!fields_plain(fields, child, &value.value))
            return fields_fault(fields, child, child_name, "expected one value or a list of values");
        if (value.value.size > VALUE_MOST)
            return fields_fault(fields, child, child_name, "is longer than 4,000 bytes");
        entry->values[entry->value_count++] = value;
    }
    return true;
}

bool read_policy(const struct fields *fields, const struct node *node, const char *name, void *out)
{
    struct policy *policy = out;
    if (!fields_is(fields, node, NODE_MAP, name))
        return false;
    policy->entries = arena_take(fields->arena, fields_count(node) * sizeof *policy->entries + 1);
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        struct policy_entry *entry = &policy->entries[policy->count++];
        *entry = (struct policy_entry){0};
        if (!read_entry(fields, child, fields_name(fields, name, child->key), entry))
            return false;
    }
    return true;
}

bool read_excused(const struct fields *fields, const struct node *node, const char *name, void *out)
{
    struct site_settings *site = out;
    if (!fields_is(fields, node, NODE_MAP, name))
        return false;
    site->excused = arena_take(fields->arena, fields_count(node) * sizeof *site->excused + 1);
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        const char *child_name = fields_name(fields, name, child->key);
        if (!fields_is(fields, child, NODE_SCALAR, child_name))
            return false;
        if (text_trim(child->text).size == 0)
            return fields_fault(fields, child, child_name, "say why it is excused");
        if (!fields_shows(fields, child, child_name, text_trim(child->text)))
            return false;
        site->excused[site->excused_count++] =
            (struct excuse){child->key, text_trim(child->text), fields_where(fields, child)};
    }
    return true;
}
