/* SPDX-License-Identifier: GPL-3.0-or-later */
/* methods/NAME.yaml: one table a map, so that a new key is a line here and a field in settings.h. */
#include <string.h>

#include "intake/settings_inside.h"
#include "records/kinds.h"
#include "records/units.h"

#define AT(field) offsetof(struct method_settings, field)

static const char *const codings[] = {"none", "chip", NULL};
static const char *const patterns[] = {"1-3s", "2-2s", "R-4s", "3-1s",    "4-1s", "6x",
                                       "8x",   "10x",  "12x",  "2of3-2s", NULL};

/* More than any method means, and less than what times and dates can be reckoned with. */
enum {
    SECONDS_MOST = 24 * 60 * 60,
    MINUTES_MOST = 366 * 24 * 60,
    DAYS_MOST = 36525,
};

/* ---- controls.when ---- */

static bool read_each(const struct fields *fields, const struct node *node, const char *name,
                      struct control_clause *clause)
{
    static const char *const words[] = {"day", "lot", "operator"};
    static const enum clause_kind kinds[] = {CLAUSE_EACH_DAY, CLAUSE_EACH_LOT, CLAUSE_EACH_OPERATOR};
    if (!fields_is(fields, node, NODE_SCALAR, name))
        return false;
    for (size_t i = 0; i < 3; i++) {
        if (!text_is(node->text, words[i]))
            continue;
        clause->kind = kinds[i];
        clause->name = text_print(fields->arena, "each %s", words[i]);
        return true;
    }
    return fields_fault(fields, node, name, "%.*s: expected day, lot or operator", TEXT_FORMAT(node->text));
}

static bool read_every(const struct fields *fields, const struct node *node, const char *name, enum clause_kind kind,
                       struct control_clause *clause)
{
    struct setting_number number = {0};
    static const struct field days = {.key = "", .type = FIELD_COUNT, .most = DAYS_MOST};
    static const struct field tests = {.key = "", .type = FIELD_COUNT};
    if (!fields_scalar(fields, node, name, kind == CLAUSE_EVERY_DAYS ? &days : &tests, &number))
        return false;
    clause->kind = kind;
    clause->count = (int64_t)number.number;
    clause->name = text_print(fields->arena, "every %lld %s", (long long)clause->count,
                              kind == CLAUSE_EVERY_DAYS ? "days" : "tests");
    return true;
}

static bool read_after(const struct fields *fields, const struct node *node, const char *name,
                       struct control_clause *clause)
{
    const char *const *words = kind_of(KIND_MAINTENANCE)->columns[COL(MAINTENANCE, event)].words;
    if (!fields_is(fields, node, NODE_LIST, name))
        return false;
    clause->kind = CLAUSE_AFTER;
    clause->name = TEXT("after");
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        size_t i = 0;
        while (words[i] != NULL && !text_is(child->text, words[i]))
            i++;
        if (child->kind != NODE_SCALAR || words[i] == NULL)
            return fields_fault(fields, child, name, "%.*s: is no event of the maintenance log",
                                TEXT_FORMAT(child->text));
        clause->after |= 1U << i;
    }
    return clause->after != 0 ? true : fields_fault(fields, node, name, "names no event");
}

static bool read_clause_key(const struct fields *fields, const struct node *node, const char *name,
                            struct control_clause *clause)
{
    if (text_is(node->key, "each"))
        return read_each(fields, node, name, clause);
    if (text_is(node->key, "every_days"))
        return read_every(fields, node, name, CLAUSE_EVERY_DAYS, clause);
    if (text_is(node->key, "every_tests"))
        return read_every(fields, node, name, CLAUSE_EVERY_TESTS, clause);
    if (text_is(node->key, "after"))
        return read_after(fields, node, name, clause);
    return fields_fault(fields, node, name, "unknown key; a clause is each, every_days, every_tests or after, and by");
}

static bool read_clause(const struct fields *fields, const struct node *node, const char *name,
                        struct control_clause *clause)
{
    static const struct field by = {.key = "by", .type = FIELD_DUTY};
    size_t told = 0;
    *clause = (struct control_clause){.by = DUTY_INSERT, .where = fields_where(fields, node)};
    if (!fields_is(fields, node, NODE_MAP, name))
        return false;
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        const char *child_name = fields_name(fields, name, child->key);
        bool is_by = text_is(child->key, "by");
        told += !is_by;
        if (!(is_by ? fields_scalar(fields, child, child_name, &by, &clause->by)
                    : read_clause_key(fields, child, child_name, clause)))
            return false;
    }
    return told == 1 ? true : fields_fault(fields, node, name, "each clause asks for one thing");
}

static bool read_when(const struct fields *fields, const struct node *node, const char *name, void *out)
{
    struct method_settings *method = out;
    if (!fields_few(fields, node, NODE_LIST, name))
        return false;
    method->clauses = arena_take(fields->arena, fields_count(node) * sizeof *method->clauses + 1);
    for (const struct node *child = node->first; child != NULL; child = child->next)
        if (!read_clause(fields, child, name, &method->clauses[method->clause_count++]))
            return false;
    return true;
}

static bool read_periodic(const struct fields *fields, const struct node *node, const char *name, void *out)
{
    static const struct field days = {.key = "", .type = FIELD_COUNT, .most = DAYS_MOST};
    struct method_settings *method = out;
    if (!fields_few(fields, node, NODE_MAP, name))
        return false;
    method->tasks = arena_take(fields->arena, fields_count(node) * sizeof *method->tasks + 1);
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        struct setting_number number = {0};
        const char *child_name = fields_name(fields, name, child->key);
        if (text_is(child->key, "daily"))
            return fields_fault(fields, child, child_name, "daily is no periodic task; use cleaning.daily");
        if (!fields_scalar(fields, child, child_name, &days, &number))
            return false;
        method->tasks[method->task_count++] = (struct periodic_task){child->key, (int64_t)number.number};
    }
    return true;
}

/* ---- the tables ---- */

#define NUMBER(named, kind, field)                  \
    {                                               \
        .key = named, .type = kind, .at = AT(field) \
    }
#define NUMBER_TO(named, kind, field, limit)                       \
    {                                                              \
        .key = named, .type = kind, .most = limit, .at = AT(field) \
    }

static const struct field reportable[] = {
    NUMBER("low", FIELD_NUMBER, reportable_low), NUMBER("high", FIELD_NUMBER, reportable_high), {0}};
static const struct field follow_up[] = {
    NUMBER("low", FIELD_NUMBER, follow_up_low),
    NUMBER("high", FIELD_NUMBER, follow_up_high),
    NUMBER_TO("within_minutes", FIELD_AMOUNT, follow_up_within_minutes, MINUTES_MOST),
    {0}};
static const struct field allowable[] = {
    NUMBER("percent", FIELD_AMOUNT, allowable_percent), NUMBER("absolute", FIELD_AMOUNT, allowable_absolute), {0}};
static const struct field controls[] = {
    {.key = "levels", .type = FIELD_IDS, .required = true, .at = AT(levels), .count_at = AT(level_count)},
    {.key = "limit_sd", .type = FIELD_AMOUNT, .at = AT(limit_sd), .standard = "2"},
    NUMBER("max_cv_percent", FIELD_AMOUNT, max_cv_percent),
    NUMBER("max_bias_percent", FIELD_AMOUNT, max_bias_percent),
    {.key = "multirule",
     .type = FIELD_IDS,
     .at = AT(multirule),
     .count_at = AT(multirule_count),
     .has_at = AT(has_multirule),
     .words = patterns},
    {.key = "when", .type = FIELD_READ, .read = read_when},
    {0}};
static const struct field cleaning[] = {{.key = "by", .type = FIELD_DUTY, .at = AT(cleaning_by)},
                                        {.key = "daily", .type = FIELD_YES_NO, .at = AT(cleaning_daily)},
                                        {.key = "periodic", .type = FIELD_READ, .read = read_periodic},
                                        {0}};
static const struct field lot_check[] = {
    {.key = "by", .type = FIELD_DUTY, .at = AT(lot_check_by)},
    NUMBER("specimens", FIELD_COUNT, lot_check_specimens),
    NUMBER("max_mean_difference_percent", FIELD_AMOUNT, lot_check_max_mean_difference_percent),
    {0}};
static const struct field competency[] = {
    {.key = "initial", .type = FIELD_YES_NO, .at = AT(competency_initial)},
    NUMBER_TO("every_months", FIELD_COUNT, competency_every_months, MONTHS_MOST),
    NUMBER_TO("first_year_months", FIELD_COUNT, competency_first_year_months, MONTHS_MOST),
    NUMBER("techniques", FIELD_WHOLE, competency_techniques),
    {0}};
static const struct field comparison[] = {NUMBER("events_per_year", FIELD_COUNT, comparison_events_per_year), {0}};

static const struct field keys[] = {
    {.key = "method", .type = FIELD_ID, .required = true, .at = AT(method)},
    {.key = "analyte", .type = FIELD_TEXT, .at = AT(analyte)},
    {.key = "waived", .type = FIELD_YES_NO, .required = true, .at = AT(waived)},
    {.key = "loinc", .type = FIELD_TEXT, .at = AT(loinc)},
    {.key = "unit", .type = FIELD_ID, .at = AT(unit)},
    {.key = "also_units", .type = FIELD_IDS, .at = AT(also_units), .count_at = AT(also_unit_count)},
    {.key = "words", .type = FIELD_IDS, .at = AT(words), .count_at = AT(word_count)},
    {.key = "reportable", .type = FIELD_GROUP, .group = reportable},
    {.key = "follow_up", .type = FIELD_GROUP, .group = follow_up},
    {.key = "allowable_error", .type = FIELD_GROUP, .group = allowable},
    NUMBER_TO("max_specimen_minutes", FIELD_AMOUNT, max_specimen_minutes, MINUTES_MOST),
    NUMBER_TO("run_seconds", FIELD_AMOUNT, run_seconds, SECONDS_MOST),
    {.key = "coding", .type = FIELD_CHOICE, .at = AT(coded), .words = codings},
    NUMBER_TO("open_life_days", FIELD_WHOLE, open_life_days, DAYS_MOST),
    {.key = "storage", .type = FIELD_ID, .at = AT(storage)},
    {.key = "room", .type = FIELD_ID, .at = AT(room)},
    {.key = "controls", .type = FIELD_GROUP, .group = controls, .has_at = AT(has_controls)},
    {.key = "cleaning", .type = FIELD_GROUP, .group = cleaning, .has_at = AT(has_cleaning)},
    {.key = "lot_check", .type = FIELD_GROUP, .group = lot_check, .has_at = AT(has_lot_check)},
    {.key = "competency", .type = FIELD_GROUP, .group = competency},
    {.key = "comparison", .type = FIELD_GROUP, .group = comparison, .has_at = AT(has_comparison)},
    NUMBER_TO("procedure_review_months", FIELD_COUNT, procedure_review_months, MONTHS_MOST),
    {0}};

/* ---- what no single key can tell ---- */

/* Each key under its full name, for the parameters of rules. */
static void keep_lines(const struct fields *fields, const struct node *node, const char *name,
                       struct method_settings *method, size_t *capacity)
{
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        const char *child_name = fields_name(fields, name, child->key);
        struct text value;
        if (child->kind == NODE_MAP) {
            keep_lines(fields, child, child_name, method, capacity);
        } else if (fields_plain(fields, child, &value)) {
            if (method->line_count == *capacity) {
                struct setting_line *lines = arena_take(fields->arena, (*capacity * 2 + 16) * sizeof *lines);
                if (method->line_count > 0)
                    memcpy(lines, method->lines, method->line_count * sizeof *lines);
                method->lines = lines;
                *capacity = *capacity * 2 + 16;
            }
            method->lines[method->line_count++] = (struct setting_line){text_of(child_name), value, child->line};
        }
    }
}

static bool check_units(const struct fields *fields, const struct node *root, const struct method_settings *method)
{
    const struct node *node = fields_child(root, "also_units");
    if (method->also_unit_count > 0 && method->unit.data == NULL)
        return fields_fault(fields, node, "also_units", "there is no unit to convert them to");
    for (size_t i = 0; i < method->also_unit_count; i++) {
        double converted;
        struct text also = method->also_units[i];
        if (text_equal(also, method->unit))
            return fields_fault(fields, node, "also_units", "%.*s: is the method's own unit", TEXT_FORMAT(also));
        if (!unit_convert(also, method->unit, 1, &converted))
            return fields_fault(fields, node, "also_units", "%.*s: no conversion to %.*s is known", TEXT_FORMAT(also),
                                TEXT_FORMAT(method->unit));
        if (!unit_pair_known(also, method->unit, method->analyte))
            return fields_fault(fields, node, "also_units", "%.*s: no conversion to %.*s is known for %.*s",
                                TEXT_FORMAT(also), TEXT_FORMAT(method->unit), TEXT_FORMAT(method->analyte));
    }
    return true;
}

bool read_method(const struct fields *fields, const struct node *root, struct text file_name,
                 struct method_settings *out)
{
    size_t capacity = 0;
    *out = (struct method_settings){.cleaning_by = DUTY_INSERT,
                                    .lot_check_by = DUTY_PRACTICE,
                                    .competency_initial = true,
                                    .where = {fields->file, 1}};
    if (!fields_read(fields, root, "", keys, out))
        return false;
    keep_lines(fields, root, "", out, &capacity);
    if (!text_equal(out->method, file_name))
        return fields_fault(fields, fields_child(root, "method"), "method", "%.*s: must be the name of the file, %.*s",
                            TEXT_FORMAT(out->method), TEXT_FORMAT(file_name));
    if (out->unit.data == NULL && out->word_count == 0)
        return fields_fault(fields, root, "unit", "is missing; a method has a unit, or words, or both");
    return check_units(fields, root, out) &&
           fields_range(fields, fields_child(root, "reportable"), "reportable", out->reportable_low,
                        out->reportable_high) &&
           fields_range(fields, fields_child(root, "follow_up"), "follow_up", out->follow_up_low, out->follow_up_high);
}
