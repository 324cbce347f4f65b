/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "intake/settings.h"

/* The method of a file methods/strip.yaml, NULL with the fault if it cannot be read. */
static const struct method_settings *parse(const char *yaml, struct arena *arena, struct fault *fault)
{
    const struct settings_source sources[] = {{"site.yaml", "site.yaml", "site: x\n", 8},
                                              {"methods/strip.yaml", "methods/strip.yaml", yaml, strlen(yaml)}};
    struct site_settings *site = arena_take(arena, sizeof *site);
    *fault = (struct fault){0};
    if (!settings_parse_site(sources, 2, arena, site, fault))
        return NULL;
    cr_assert_eq(site->method_count, 1);
    return &site->methods[0];
}

static const char full_method[] = "method: strip\n"
                                  "analyte: Hemoglobin A1c\n"
                                  "waived: yes\n"
                                  "loinc: \"4548-4\"\n"
                                  "unit: \"%\"\n"
                                  "also_units: [\"mmol/mol\"]\n"
                                  "reportable: {low: 4.20, high: 14.6}\n"
                                  "follow_up: {high: 14.0, within_minutes: 60}\n"
                                  "allowable_error: {percent: 8}\n"
                                  "max_specimen_minutes: 5\n"
                                  "run_seconds: 300\n"
                                  "words: [invalid]\n"
                                  "coding: chip\n"
                                  "open_life_days: 90\n"
                                  "storage: supply-fridge\n"
                                  "room: test-room\n"
                                  "controls:\n"
                                  "  levels: [low, high]\n"
                                  "  max_cv_percent: 4\n"
                                  "  multirule: [1-3s, R-4s, 10x]\n"
                                  "  when:\n"
                                  "    - {each: day}\n"
                                  "    - {each: lot, by: law}\n"
                                  "    - {every_days: 30, by: policy}\n"
                                  "    - {every_tests: 50}\n"
                                  "    - {after: [repair, software]}\n"
                                  "    - {each: operator}\n"
                                  "cleaning:\n"
                                  "  by: practice\n"
                                  "  daily: true\n"
                                  "  periodic: {weekly: 7, monthly: 30}\n"
                                  "lot_check: {specimens: 3, max_mean_difference_percent: 6}\n"
                                  "competency: {initial: no, every_months: 12, first_year_months: 6, techniques: 2}\n"
                                  "comparison: {events_per_year: 2}\n"
                                  "procedure_review_months: 24\n";

Test(method, a_method_is_read_with_all_its_keys)
{
    AUTO(arena) arena = arena_new();
    struct fault fault;
    const struct method_settings *method = parse(full_method, arena, &fault);
    cr_assert_not_null(method, "%s", fault.text);
    cr_expect(method->waived && method->coded && method->has_controls && method->has_multirule);
    cr_expect(method->has_cleaning && method->cleaning_daily && method->has_lot_check && method->has_comparison);
    cr_expect_not(method->competency_initial);
    cr_expect(text_is(method->unit, "%"));
    cr_expect(text_is(method->also_units[0], "mmol/mol"));
    cr_expect(text_is(method->reportable_low.text, "4.20"));
    cr_expect_eq(method->reportable_high.number, 14.6);
    cr_expect_not(method->follow_up_low.present);
    cr_expect_not(method->allowable_absolute.present);
    cr_expect_eq(method->run_seconds.number, 300);
    cr_expect_eq(method->level_count, 2);
    cr_expect_eq(method->multirule_count, 3);
    cr_expect_eq(method->cleaning_by, DUTY_PRACTICE);
    cr_expect_eq(method->lot_check_by, DUTY_PRACTICE);
    cr_assert_eq(method->task_count, 2);
    cr_expect(text_is(method->tasks[1].name, "monthly"));
    cr_expect_eq(method->tasks[1].days, 30);
    cr_expect_eq(method->competency_first_year_months.number, 6);
}

Test(method, clauses_have_names_counts_and_who_asks)
{
    static const struct {
        const char *name;
        enum clause_kind kind;
        int64_t count;
        unsigned after;
        enum duty by;
        unsigned line;
    } expected[] = {
        {"each day", CLAUSE_EACH_DAY, 0, 0, DUTY_INSERT, 22},
        {"each lot", CLAUSE_EACH_LOT, 0, 0, DUTY_LAW, 23},
        {"every 30 days", CLAUSE_EVERY_DAYS, 30, 0, DUTY_POLICY, 24},
        {"every 50 tests", CLAUSE_EVERY_TESTS, 50, 0, DUTY_INSERT, 25},
        {"after", CLAUSE_AFTER, 0, 1U << 0 | 1U << 4, DUTY_INSERT, 26},
        {"each operator", CLAUSE_EACH_OPERATOR, 0, 0, DUTY_INSERT, 27},
    };
    AUTO(arena) arena = arena_new();
    struct fault fault;
    const struct method_settings *method = parse(full_method, arena, &fault);
    cr_assert_not_null(method, "%s", fault.text);
    cr_assert_eq(method->clause_count, sizeof expected / sizeof *expected);
    for (size_t i = 0; i < method->clause_count; i++) {
        const struct control_clause *clause = &method->clauses[i];
        cr_expect(text_is(clause->name, expected[i].name), "%zu", i);
        cr_expect_eq(clause->kind, expected[i].kind, "%zu", i);
        cr_expect_eq(clause->count, expected[i].count, "%zu", i);
        cr_expect_eq(clause->after, expected[i].after, "%zu", i);
        cr_expect_eq(clause->by, expected[i].by, "%zu", i);
        cr_expect_eq(clause->where.line, expected[i].line, "%zu", i);
    }
}

Test(method, what_a_method_does_not_say_is_absent)
{
    AUTO(arena) arena = arena_new();
    struct fault fault;
    const struct method_settings *method = parse("method: strip\nwaived: false\nunit: x\n", arena, &fault);
    cr_assert_not_null(method, "%s", fault.text);
    cr_expect_not(method->waived || method->coded || method->has_controls || method->has_multirule);
    cr_expect_not(method->has_cleaning || method->has_lot_check || method->has_comparison);
    cr_expect(method->competency_initial);
    cr_expect_eq(method->cleaning_by, DUTY_INSERT);
    cr_expect_eq(method->lot_check_by, DUTY_PRACTICE);
    cr_expect_not(method->run_seconds.present);
    cr_expect_not(method->limit_sd.present);
    cr_expect_eq(method->limit_sd.number, 2); /* what counts where it is absent */
    cr_expect_null(method->storage.data);
}

Test(method, every_key_can_be_looked_up_with_its_line)
{
    AUTO(arena) arena = arena_new();
    struct fault fault;
    const struct method_settings *method = parse(full_method, arena, &fault);
    cr_assert_not_null(method, "%s", fault.text);
    static const struct {
        const char *key, *value;
        uint32_t line;
    } expected[] = {
        {"run_seconds", "300", 11},          {"reportable.low", "4.20", 7},    {"controls.max_cv_percent", "4", 19},
        {"controls.levels", "low;high", 18}, {"competency.initial", "no", 33}, {"cleaning.periodic.weekly", "7", 31},
    };
    for (size_t i = 0; i < sizeof expected / sizeof *expected; i++) {
        const struct setting_line *line = settings_line(method, expected[i].key);
        cr_assert_not_null(line, "%s", expected[i].key);
        cr_expect(text_is(line->value, expected[i].value), "%s", expected[i].key);
        cr_expect_eq(line->line, expected[i].line, "%s", expected[i].key);
    }
    cr_expect_null(settings_line(method, "controls.max_bias_percent"));
}

Test(method, errors_name_the_key_in_full)
{
    /* Each behind the three lines that every method has. */
    static const char *const vectors[][2] = {
        {"open_life_day: 90", "4: open_life_day: unknown key, the nearest known is open_life_days"},
        {"run_seconds: fast", "4: run_seconds: fast: expected a number"},
        {"run_seconds: -1", "4: run_seconds: -1: must not be below 0"},
        {"open_life_days: 90.5", "4: open_life_days: 90.5: expected a whole number"},
        {"open_life_days: 2000000", "4: open_life_days: 2000000: must not be above 36525"},
        {"run_seconds: 99999999999999999999999999",
         "4: run_seconds: 99999999999999999999999999: must not be above 86400"},
        {"run_seconds: 86400.5", "4: run_seconds: 86400.5: must not be above 86400"},
        {"max_specimen_minutes: 527041", "4: max_specimen_minutes: 527041: must not be above 527040"},
        {"follow_up: {within_minutes: 1000000000000000}",
         "4: follow_up.within_minutes: 1000000000000000: must not be above 527040"},
        {"competency: {every_months: 1201}", "4: competency.every_months: 1201: must not be above 1200"},
        {"procedure_review_months: 1000000", "4: procedure_review_months: 1000000: must not be above 1200"},
        {"cleaning: {periodic: {filter: 36526}}", "4: cleaning.periodic.filter: 36526: must not be above 36525"},
        {"controls: {levels: [a], when: [{every_days: 36526}]}",
         "4: controls.when.every_days: 36526: must not be above 36525"},
        {"run_seconds:", "4: run_seconds: has no value; fill it in or remove the line"},
        {"coding: yes", "4: coding: yes: unknown word"},
        {"coding: chips", "4: coding: chips: unknown word, the nearest known is chip"},
        {"reportable: {low: 14, high: 4}", "4: reportable: low 14 lies above high 4"},
        {"follow_up:\n  low: 14.0\n  high: 4", "4: follow_up: low 14.0 lies above high 4"},
        {"also_units: [\"mmol/L\"]", "4: also_units: mmol/L: no conversion to mg/dL is known for Cholesterol"},
        {"also_units: [furlong]", "4: also_units: furlong: no conversion to mg/dL is known"},
        {"also_units: [mg/dL]", "4: also_units: mg/dL: is the method's own unit"},
        {"words: [a, a]", "4: words: a: stands twice"},
        {"controls: {limit_sd: 2}", "4: controls.levels: is missing"},
        {"controls:", "4: controls.levels: is missing"},
        {"controls: {levels: low}", "4: controls.levels: expected a list"},
        {"controls: {levels: [low], multirule: [1-3S]}",
         "4: controls.multirule: 1-3S: unknown word, the nearest known is 1-3s"},
        {"controls: {levels: [low], when: [{each: week}]}",
         "4: controls.when.each: week: expected day, lot or operator"},
        {"controls: {levels: [low], when: [{every_days: 0}]}", "4: controls.when.every_days: 0: must be 1 or more"},
        {"controls: {levels: [low], when: [{each: day, every_days: 3}]}",
         "4: controls.when: each clause asks for one thing"},
        {"controls: {levels: [low], when: [{by: law}]}", "4: controls.when: each clause asks for one thing"},
        {"controls: {levels: [low], when: [{each: day, by: laws}]}",
         "4: controls.when.by: laws: unknown word, the nearest known is law"},
        {"controls: {levels: [low], when: [{after: [fire]}]}",
         "4: controls.when.after: fire: is no event of the maintenance log"},
        {"controls: {levels: [low], when: [{after: []}]}", "4: controls.when.after: names no event"},
        {"controls: {levels: [low], when: {each: day}}", "4: controls.when: expected a list"},
        {"cleaning: {daily: often}", "4: cleaning.daily: often: expected yes or no"},
        {"cleaning: {periodic: {daily: 1}}",
         "4: cleaning.periodic.daily: daily is no periodic task; use cleaning.daily"},
        {"cleaning: {periodic: {weekly: 0}}", "4: cleaning.periodic.weekly: 0: must be 1 or more"},
        {"competency: {every_months: 0}", "4: competency.every_months: 0: must be 1 or more"},
        {"lot_check: {by: nobody}", "4: lot_check.by: nobody: unknown word"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        AUTO(arena) arena = arena_new();
        struct fault fault;
        char yaml[512], wanted[512];
        snprintf(yaml, sizeof yaml, "method: strip\nwaived: true\nunit: mg/dL\n%s\nanalyte: Cholesterol\n",
                 vectors[i][0]);
        snprintf(wanted, sizeof wanted, "methods/strip.yaml:%s", vectors[i][1]);
        cr_expect_null(parse(yaml, arena, &fault), "%s", vectors[i][0]);
        cr_expect_str_eq(fault.text, wanted, "%s", fault.text);
    }
}

Test(method, a_method_needs_a_name_a_waiver_and_something_to_report)
{
    static const char *const vectors[][2] = {
        {"waived: true\nunit: x\n", "methods/strip.yaml:1: method: is missing"},
        {"method: strip\nunit: x\n", "methods/strip.yaml:1: waived: is missing"},
        {"method: strip\nwaived: true\n",
         "methods/strip.yaml:1: unit: is missing; a method has a unit, or words, or both"},
        {"method: strip\nwaived: true\nwords: [a]\nalso_units: [g/L]\n",
         "methods/strip.yaml:4: also_units: there is no unit to convert them to"},
        {"waived: true\nmethod: strop\nunit: x\n",
         "methods/strip.yaml:2: method: strop: must be the name of the file, strip"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        AUTO(arena) arena = arena_new();
        struct fault fault;
        cr_expect_null(parse(vectors[i][0], arena, &fault), "%s", vectors[i][0]);
        cr_expect_str_eq(fault.text, vectors[i][1], "%s", fault.text);
    }
}
