/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "../findings/bench.h"
#include "reports/forms_page.h"
#include "reports/forms_sheet.h"
#include "reports/html.h"

#define WORKDAYS "site: mill\nopen_days: [mon, tue, wed, thu, fri]\n"
#define METHOD                                                                           \
    "method: meter\nwaived: true\nunit: mg/dL\n"                                         \
    "controls: {levels: [low, high], when: [{each: day}, {after: [repair, dropped]}]}\n" \
    "cleaning: {daily: true, periodic: {weekly: 7}}\n"

/* November 2026 begins on a Sunday. The days are by hand from a calendar. */
Test(forms, a_periodic_task_never_waits_longer_than_it_may_over_closed_days)
{
    static const struct {
        const char *site;
        int64_t days;
        const char *due; /* days of the month */
    } rows[] = {
        {WORKDAYS, 7, "2 9 16 23 30 "},
        {WORKDAYS, 10, "2 12 20 30 "},                                              /* the 22nd is a Sunday */
        {WORKDAYS, 1, "2 3 4 5 6 9 10 11 12 13 16 17 18 19 20 23 24 25 26 27 30 "}, /* at weekends it must wait */
        {WORKDAYS, 30, "2 "},
        {WORKDAYS, 400, "2 "},
        {WORKDAYS "closed_on: [2026-11-02, 2026-11-09]\n", 7, "3 10 17 24 "},
        {"site: mill\n", 14, "1 15 29 "}, /* no open days are named: any may be one */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        BENCH bench;
        day_number due[31];
        char said[128] = "";
        bench_open(&bench, rows[i].site, METHOD, "2026-11-30");
        size_t count = forms_task_days(&bench.settings, day_of("2026-11-01"), day_of("2026-11-30"), rows[i].days, due);
        for (size_t d = 0; d < count; d++)
            sprintf(said + strlen(said), "%d ", day_civil(due[d]).day);
        cr_expect_str_eq(said, rows[i].due, "row %zu", i);
    }
}

static size_t times(const char *text, const char *part)
{
    size_t count = 0;
    for (const char *at = text; (at = strstr(at, part)) != NULL; at++)
        count++;
    return count;
}

static struct text page_of(struct bench *bench)
{
    const struct history *sites[] = {bench->history};
    history_ready(bench->history);
    AUTO(document) page = forms_page(sites, 1, TEXT("Mill"), day_of("2026-11-01"), day_of("2026-11-30"));
    AUTO(output) output = output_memory();
    html_write(page, output);
    return text_keep(bench->arena, output_taken(output));
}

Test(forms, sheets_have_the_days_levels_tasks_and_columns_filled_in)
{
    BENCH bench;
    bench_open(&bench, WORKDAYS "places: [{place: fridge, low: 2, high: 8, readings_per_open_day: 2}]\n", METHOD,
               "2026-11-30");
    bench_log(&bench, KIND_ANALYZERS,
              "analyzer,method,in_service_on,retired_on\nG1,meter,2024-01-01,\nG2,meter,2024-01-01,2026-10-31\n"
              "G3,meter,2026-12-01,\n");
    bench_log(&bench, KIND_OPERATORS, "operator,started_on,left_on\nann,2024-01-01,\nben,2024-01-01,2026-10-31\n");
    const char *page = page_of(&bench).data;
    /* 21 open days: two levels, a daily cleaning, two readings; and the Mondays by which the weekly one is due. */
    cr_expect_eq(times(page, "Mon 2026-11-09"), 2 + 1 + 2 + 1);
    cr_expect_eq(times(page, "by Mon 2026-11-"), 5);
    cr_expect_eq(times(page, ">high<"), 21);
    cr_expect_eq(times(page, ">daily<"), 21);
    cr_expect_not_null(strstr(page, "Asked for: each day; after repair, dropped."));
    cr_expect_not_null(strstr(page, "In every row: analyzer G1, method meter, unit mg/dL."));
    cr_expect_not_null(strstr(page, "2 to 8 °C."));
    cr_expect_not_null(strstr(page, "Operators: ann."));
    cr_expect_not_null(strstr(page, "<th scope=col>Control lot *"));
    cr_expect_null(strstr(page, "Sat 2026"));
    cr_expect_null(strstr(page, "analyzer G2"), "retired");
    cr_expect_null(strstr(page, "analyzer G3"), "not yet in service");
    cr_expect_null(strstr(page, "Codes, analyzer"), "the method has no code");
    cr_expect_null(strstr(page, "Recorded at"));
}

Test(forms, a_site_without_analyzers_is_told_and_has_the_sheets_of_the_site)
{
    BENCH bench;
    bench_open(&bench, WORKDAYS, NULL, "2026-11-30");
    const char *page = page_of(&bench).data;
    cr_expect_not_null(strstr(page, "By the analyzers log none is in service in this month"));
    cr_expect_not_null(strstr(page, "Training and competency"));
    cr_expect_null(strstr(page, "Controls, analyzer"));
}

/* Each column of the kind is on its sheet, but for the one that is always the same and when the entry was written. */
Test(forms, the_columns_of_a_sheet_are_those_of_the_table_of_kinds)
{
    for (int kind = 0; kind < KIND_COUNT; kind++) {
        AUTO(document) document = document_new(TEXT("Sheets"));
        AUTO(output) output = output_memory();
        struct sheet sheet = sheet_of(document, (enum kind_id)kind);
        sheet.always[0] = TEXT("always");
        sheet_begin(&sheet, TEXT("one"), TEXT("One"), TEXT("Mill"), TEXT("About."));
        sheet_rows(&sheet, 3);
        sheet_end(&sheet);
        html_write(document, output);
        const char *page = text_keep(document->arena, output_taken(output)).data;
        size_t columns = sheet.kind->column_count - 1, recorded = kind_column(sheet.kind, TEXT("recorded_at")) >= 0;
        cr_expect_eq(times(page, "<th scope=col>"), columns - recorded, "%s", sheet.kind->name);
        cr_expect_eq(times(page, "<td data-title="), 3 * (columns - recorded), "%s", sheet.kind->name);
        cr_expect_eq(times(page, "<col"), columns - recorded + 1, "%s", sheet.kind->name); /* colgroup */
    }
}
