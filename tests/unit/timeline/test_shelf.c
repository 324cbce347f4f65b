/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>

#include "timeline/shelf.h"

static moment at(const char *text)
{
    moment parsed = MOMENT_ABSENT;
    cr_assert(moment_parse(text_of(text), &parsed, NULL), "%s", text);
    return parsed;
}

static const char *const entries[] = {"2026-10-07 09:12:30", "2026-10-07 09:12", "2026-10-07 09:12:05",
                                      "2026-10-06 23:59"};

static void fill(struct shelf *shelf, struct record records[4])
{
    for (size_t i = 0; i < 4; i++) {
        records[i] = (struct record){.line = (uint32_t)i + 1};
        shelf_add(shelf, 7, at(entries[i]), &records[i]);
        shelf_add(shelf, 9, at(entries[i]), &records[i]);
    }
    shelf_sort(shelf);
}

/* The minute rule: an entry in a run's minute counts as before the run where either has no seconds. */
Test(shelf, the_latest_entry_at_or_before_a_run)
{
    static const struct {
        const char *run;
        uint32_t line; /* 0: none */
    } rows[] = {
        {"2026-10-06 23:58", 0},    {"2026-10-06 23:59", 4},    {"2026-10-07 09:11:59", 4}, {"2026-10-07 09:12", 1},
        {"2026-10-07 09:12:00", 2}, {"2026-10-07 09:12:04", 2}, {"2026-10-07 09:12:05", 3}, {"2026-10-07 09:12:29", 3},
        {"2026-10-07 09:12:30", 1}, {"2026-10-07 09:13", 1},    {"2027-01-01 00:00", 1},
    };
    struct shelf shelf = {0};
    struct record records[4];
    fill(&shelf, records);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct shelf_entry *entry = shelf_latest(shelf_find(&shelf, 7), at(rows[i].run));
        cr_expect_eq(entry ? entry->record->line : 0, rows[i].line, "%s: %u", rows[i].run,
                     entry ? entry->record->line : 0);
    }
    shelf_clear(&shelf);
}

Test(shelf, the_first_entry_that_can_be_at_or_after_a_run)
{
    static const struct {
        const char *run;
        uint32_t line; /* 0: none */
    } rows[] = {
        {"2000-01-01 00:00", 4}, {"2026-10-06 23:59", 4},    {"2026-10-07 00:00", 2},
        {"2026-10-07 09:12", 2}, {"2026-10-07 09:12:59", 2}, {"2026-10-07 09:13", 0},
    };
    struct shelf shelf = {0};
    struct record records[4];
    fill(&shelf, records);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct shelf_range range = shelf_find(&shelf, 7);
        const struct shelf_entry *entry = shelf_from(range, at(rows[i].run));
        cr_expect_eq(entry < range.end ? entry->record->line : 0, rows[i].line, "%s", rows[i].run);
    }
    shelf_clear(&shelf);
    cr_expect_null(shelf_from((struct shelf_range){NULL, NULL}, at("2026-10-07 09:12")));
}

Test(shelf, keys_are_kept_apart)
{
    struct shelf shelf = {0};
    struct record records[4];
    fill(&shelf, records);
    struct shelf_range none = shelf_find(&shelf, 8), all = shelf_find(&shelf, 9);
    cr_expect_eq(none.first, none.end);
    cr_expect_eq(all.end - all.first, 4);
    cr_expect_null(shelf_latest(none, at("2027-01-01 00:00")));
    shelf_clear(&shelf);
    cr_expect_null(shelf_find(&shelf, 9).first);
}

Test(shelf, days_count_whole)
{
    struct shelf shelf = {0};
    struct record records[3] = {{.line = 1}, {.line = 2}, {.line = 3}};
    for (day_number day = 0; day < 3; day++)
        shelf_add(&shelf, 1, shelf_midnight(100 + day * 10), &records[day]);
    shelf_sort(&shelf);
    cr_expect_null(shelf_latest_day(shelf_find(&shelf, 1), 99));
    cr_expect_eq(shelf_latest_day(shelf_find(&shelf, 1), 100)->record->line, 1);
    cr_expect_eq(shelf_latest_day(shelf_find(&shelf, 1), 119)->record->line, 2);
    cr_expect_eq(shelf_day(shelf_latest_day(shelf_find(&shelf, 1), 120)), 120);
    shelf_clear(&shelf);
}
