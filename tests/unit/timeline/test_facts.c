/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>

#include <string.h>

#include "records/kinds.h"
#include "timeline/facts.h"

Test(facts, each_is_named_once_and_tells_what_it_means)
{
    for (int i = 0; i < FACT_COUNT; i++) {
        cr_expect_eq(fact_named(fact_rows[i].name), i, "%s stands twice", fact_rows[i].name);
        cr_expect_gt(strlen(fact_rows[i].meaning), 3, "%s", fact_rows[i].name);
        cr_expect_gt(strlen(fact_rows[i].absent), 3, "%s", fact_rows[i].name);
    }
    cr_expect_eq(fact_named("nonsense"), -1);
    cr_expect_null(fact_names()[FACT_COUNT]);
}

Test(facts, equal_by_their_type)
{
    struct fact a = {.present = true, .text = TEXT("x")}, b = {.present = true, .text = TEXT("x")}, none = {0};
    cr_expect(fact_equal(FACT_TEXT, &a, &b));
    cr_expect_not(fact_equal(FACT_TEXT, &a, &none));
    cr_expect(fact_equal(FACT_DAY, &none, &none));
    b.text = TEXT("y");
    cr_expect_not(fact_equal(FACT_TEXT, &a, &b));
}

/* The walk knows these words of the closed lists by their place. */
Test(facts, words_that_the_walk_knows_by_place)
{
    static const struct {
        enum kind_id kind;
        int column, place;
        const char *word;
    } rows[] = {
        {KIND_MAINTENANCE, COL(MAINTENANCE, event), 1, "replacement"},
        {KIND_MAINTENANCE, COL(MAINTENANCE, event), 6, "clock-check"},
        {KIND_TRAINING, COL(TRAINING, event), 0, "initial"},
        {KIND_TRAINING, COL(TRAINING, outcome), 0, "pass"},
        {KIND_LOTS, COL(LOTS, use), 0, "reagent"},
        {KIND_LOTS, COL(LOTS, use), 1, "control"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect_str_eq(kind_of(rows[i].kind)->columns[rows[i].column].words[rows[i].place], rows[i].word);
}
