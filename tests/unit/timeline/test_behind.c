/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>

#include <string.h>

#include "base/memory.h"
#include "intake/settings.h"
#include "timeline/behind.h"

static const char site_yaml[] = "site: s\nname: S\nmenu: [m]\n";
static const char method_yaml[] = "method: m\n"       /* 1 */
                                  "waived: true\n"    /* 2 */
                                  "unit: g\n"         /* 3 */
                                  "run_seconds: 10\n" /* 4 */
                                  "cleaning:\n"       /* 5 */
                                  "  daily: true\n"   /* 6 */
                                  "  periodic:\n"     /* 7 */
                                  "    weekly: 7\n"   /* 8 */
                                  "    monthly: 30\n" /* 9 */
                                  "lot_check:\n"      /* 10 */
                                  "  specimens: 3\n"  /* 11 */
                                  "  by: policy\n";   /* 12 */

Test(behind, a_fact_of_the_settings_names_the_line_of_its_own_key)
{
    static const struct {
        int fact;
        const char *task;
        uint32_t line;
    } rows[] = {
        {F_run_seconds, NULL, 4},
        {F_waived, NULL, 2},
        {F_lot_check_asked, NULL, 11},
        {F_lot_check_by, NULL, 12},
        {F_task_days, "monthly", 9},
        {F_task, "weekly", 8},
        {F_day_cleaning_by, NULL, 6}, /* not written down: where its group begins */
        {F_max_specimen_minutes, NULL, 1},
        {F_clause, NULL, 77}, /* a clause's line is set by the walk */
        {F_on_menu, NULL, 3},
        {F_certificate_expires_on, NULL, 5},
    };
    AUTO(arena) arena = arena_new();
    struct fault fault = {0};
    struct site_settings settings;
    struct settings_source sources[] = {{"site.yaml", "site.yaml", site_yaml, strlen(site_yaml)},
                                        {"methods/m.yaml", "methods/m.yaml", method_yaml, strlen(method_yaml)}};
    cr_assert(settings_parse_site(sources, 2, arena, &settings, &fault), "%s", fault.text);
    struct history history = {.settings = &settings};
    struct fact facts[FACT_COUNT] = {0};
    struct place places[SOURCE_COUNT] = {[SOURCE_SITE] = {0, 5}, [SOURCE_METHOD] = {0, 77}};
    struct event event = {.method_index = 0,
                          .facts = facts,
                          .sources = places,
                          .setting_files = {TEXT("site.yaml"), TEXT("methods/m.yaml")}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        facts[F_task].text = rows[i].task ? text_of(rows[i].task) : (struct text){0};
        struct behind behind = behind_fact(&history, &event, rows[i].fact);
        cr_expect_eq(behind.place.line, rows[i].line, "%s: line %u", fact_rows[rows[i].fact].name, behind.place.line);
        cr_expect(behind.file.data != NULL);
    }
    cr_expect_eq(behind_fact(&history, &event, F_operator_known).place.line, 0, "no row of the operators log");
}

/* Clauses have lines of their own; all else that a method file says has a key. */
Test(behind, each_fact_of_a_method_file_has_its_key)
{
    for (int fact = 0; fact < FACT_COUNT; fact++)
        if (fact_rows[fact].source == SOURCE_METHOD && fact_rows[fact].scope != SCOPE_CLAUSE)
            cr_expect_not_null(setting_of_fact(fact), "%s", fact_rows[fact].name);
        else
            cr_expect_null(setting_of_fact(fact), "%s", fact_rows[fact].name);
}
