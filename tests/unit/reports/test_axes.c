/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <math.h>

#include "reports/pictures/axes.h"

Test(axes, steps_are_round)
{
    static const struct {
        double span;
        unsigned most;
        double step;
    } cases[] = {{1, 5, .2},    {100, 5, 20}, {101, 5, 50}, {7, 7, 1}, {.03, 6, .005},
                 {9e6, 6, 2e6}, {0, 5, 1},    {NAN, 5, 1},  {10, 0, 1}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        cr_expect_float_eq(round_step(cases[i].span, cases[i].most), cases[i].step, cases[i].step * 1e-9, "case %zu",
                           i);
}

Test(axes, round_values_lie_within_their_ends)
{
    static const struct {
        double low, high;
        unsigned most;
        double step, first;
        size_t count;
    } cases[] = {{0, 1, 5, .2, 0, 6},    {4.83, 5.87, 6, .2, 5, 5}, {-3.4, 3.4, 8, 1, -3, 7},
                 {.3, .6, 3, .1, .3, 4}, {5, 5, 5, 1, 5, 1},        {NAN, 1, 5, 1, 0, 0}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double step, first;
        size_t count = round_ticks(cases[i].low, cases[i].high, cases[i].most, &step, &first);
        cr_expect_eq(count, cases[i].count, "case %zu: %zu", i, count);
        cr_expect(count == 0 || fabs(first - cases[i].first) < 1e-9, "case %zu: first %g", i, first);
        cr_expect_float_eq(step, cases[i].step, 1e-9, "case %zu: step %g", i, step);
    }
}

Test(axes, numbers_have_the_decimals_of_their_step)
{
    static const struct {
        double value, step;
        const char *text;
    } cases[] = {{5, .2, "5.0"}, {.15, .05, "0.15"}, {20, 10, "20"},
                 {-2, 1, "-2"},  {-1e-12, 1, "0"},   {-.5, .5, "-0.5"}};
    AUTO(arena) arena = arena_new();
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct text text = round_print(arena, cases[i].value, cases[i].step, "-");
        cr_expect(text_is(text, cases[i].text), "%.*s, not %s", TEXT_FORMAT(text), cases[i].text);
    }
}

Test(axes, a_scale_keeps_values_on_the_sheet)
{
    struct scale scale = {10, 20, 100, 0};
    cr_expect_eq(scale_at(&scale, 10), 100);
    cr_expect_eq(scale_at(&scale, 15), 50);
    cr_expect_eq(scale_at(&scale, 99), 0);
    cr_expect_eq(scale_at(&scale, -99), 100);
}

Test(axes, ticks_of_time_fit_the_period)
{
    static const struct {
        const char *from, *to, *first, *last;
        size_t count;
    } cases[] = {
        {"2026-10-01", "2026-10-01", "1 Oct", "1 Oct", 1},  {"2026-10-01", "2026-10-31", "1 Oct", "29", 5},
        {"2026-10-20", "2026-11-10", "20 Oct", "10", 4},    {"2026-08-01", "2026-10-31", "Aug 2026", "Oct", 3},
        {"2026-11-15", "2027-02-15", "Dec 2026", "Feb", 3}, {"2026-01-01", "2026-12-31", "Jan 2026", "Nov", 6},
        {"2020-01-01", "2026-12-31", "2020", "2026", 4},    {"2000-01-01", "2099-12-31", "2000", "2090", 10},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct time_axis axis = {.at_low = 0, .at_high = 100};
        day_parse(text_of(cases[i].from), &axis.from, NULL);
        day_parse(text_of(cases[i].to), &axis.to, NULL);
        struct time_tick ticks[TIME_TICKS];
        size_t count = time_axis_ticks(&axis, ticks);
        cr_assert_eq(count, cases[i].count, "case %zu: %zu", i, count);
        cr_expect_str_eq(ticks[0].label, cases[i].first);
        cr_expect_str_eq(ticks[count - 1].label, cases[i].last);
        cr_expect_leq(ticks[count - 1].at, 100);
    }
}

Test(axes, labels_keep_apart)
{
    AUTO(arena) arena = arena_new();
    struct drawing *drawing = drawing_new(arena, 100, 60, TEXT(""), TEXT(""));
    struct labels labels = labels_new(arena, (struct box){0, 0, 100, 60}, 64);
    for (int i = 0; i < 40; i++)
        labels_draw(&labels, drawing, (struct point){50, 30}, TEXT("K118"), true, true, INK_INK);
    cr_expect_gt(labels.taken_count, 2);
    cr_expect_lt(labels.taken_count, 15, "where none fits none is drawn");
    for (size_t i = 0; i < labels.taken_count; i++)
        for (size_t j = 0; j < i; j++) {
            const struct box *a = &labels.taken[i], *b = &labels.taken[j];
            cr_expect(a->left >= b->right || a->right <= b->left || a->top >= b->bottom || a->bottom <= b->top);
        }
}

Test(axes, a_label_avoids_lines_unless_it_must_be_there)
{
    AUTO(arena) arena = arena_new();
    struct drawing *drawing = drawing_new(arena, 100, 60, TEXT(""), TEXT(""));
    struct labels labels = labels_new(arena, (struct box){0, 0, 100, 60}, 64);
    labels_avoid(&labels, (struct box){0, 0, 100, 60});
    labels_draw(&labels, drawing, (struct point){50, 30}, TEXT("K118"), true, false, INK_INK);
    cr_expect_null(drawing->first);
    labels_draw(&labels, drawing, (struct point){50, 30}, TEXT("K118"), true, true, INK_INK);
    cr_assert_not_null(drawing->first);
    cr_expect_eq(drawing->first->kind, SHAPE_BOX, "a ground of paper");
    cr_expect_eq(drawing->last->kind, SHAPE_TEXT);
}

Test(axes, heights_are_spread_no_more_than_needed)
{
    double heights[] = {10, 11, 50};
    labels_spread(heights, 3, 8);
    cr_expect_geq(heights[1] - heights[0], 7.999);
    cr_expect_float_eq((heights[0] + heights[1]) / 2, 10.5, 1e-6);
    cr_expect_eq(heights[2], 50);
}
