/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/multirule.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "published.h"

enum { MOST = 64 };

struct history { /* controls one after the other */
    struct multirule_control controls[MOST];
    uint32_t count, levels;
    pattern_set chosen;
};

static pattern_set all_patterns(void) { return PATTERN_BIT(PATTERN_COUNT) - 1; }

static void add(struct history *history, day_number day, uint32_t level, double z)
{
    history->controls[history->count++] = (struct multirule_control){.z = z, .level = level, .lot = 1, .day = day};
}

/* "2:2-2s/0 2:2-2s*0": control 2 completes 2-2s that begins at control 0; / within, * across; ! continues a streak. */
static const char *told(const struct history *history, char *out, size_t size)
{
    AUTO(multirule)
    found = multirule_evaluate(history->controls, history->count, history->levels,
                               history->chosen ? history->chosen : all_patterns());
    size_t at = 0;
    out[0] = '\0';
    for (size_t i = 0; i < found->hit_count; i++) {
        const struct multirule_hit *hit = &found->hits[i];
        at += (size_t)snprintf(out + at, size - at, "%s%u:%s%c%u%s", i ? " " : "", hit->control,
                               pattern_name(hit->pattern), hit->across ? '*' : '/', hit->first, hit->begins ? "" : "!");
    }
    return out;
}

static void expect(const struct history *history, const char *name, const char *wanted)
{
    char out[4096];
    told(history, out, sizeof out);
    cr_expect(strcmp(out, wanted) == 0, "%s: found '%s', not '%s'", name, out, wanted);
}

/* Logic vectors of our own, with the answers that the definitions give; L1, L2, L3 one value each a day. As earlier
 * days they have three quiet ones, 0.1 and -0.1 by turns. */
Test(multirule, logic_vectors)
{
    static const struct {
        const char *name;
        uint32_t levels, days;
        double z[6][3];
        const char *wanted; /* places count from the first control after the quiet days */
    } rows[] = {
        {"V1 beyond 2 once", 2, 1, {{2.1, 0.3}}, ""},
        {"V2 exactly on 2", 2, 1, {{2.0, 0.0}}, ""},
        {"V2 exactly on 3", 2, 1, {{3.0, 0.0}}, ""},
        {"V3 beyond 3", 2, 1, {{3.01, 0.0}}, "0:1-3s/0"},
        {"V3 below -3", 2, 1, {{-3.01, 0.0}}, "0:1-3s/0"},
        {"V4 both beyond 2", 2, 1, {{2.1, 2.2}}, "1:2-2s*0"},
        {"V5 one level, two runs", 2, 2, {{2.1, 0}, {2.2, 0}}, "2:2-2s/0"},
        {"V6 two levels, two runs", 2, 2, {{2.1, 0}, {0, 2.2}}, ""},
        {"V7 to both sides", 2, 1, {{2.1, -2.1}}, "1:R-4s*0"},
        {"V8 4.1 apart, one within 2", 2, 1, {{2.5, -1.6}}, ""},
        {"V9 to both sides, two runs", 2, 2, {{2.1, 0}, {-2.1, 0}}, ""},
        {"V10 four beyond 1 in two runs", 2, 2, {{1.2, 1.1}, {1.3, 1.05}}, "3:4-1s*0"},
        {"V11 four beyond 1 of one level", 2, 4, {{1.2, -0.2}, {1.1, -0.2}, {1.3, -0.2}, {1.05, -0.2}}, "6:4-1s/0"},
        {"V12 ten above the mean", 2, 5, {{.1, .2}, {.3, .4}, {.5, .6}, {.7, .8}, {.9, .1}}, "9:10x*0"},
        {"V13 one of them on the mean", 2, 5, {{.1, .2}, {.3, 0}, {.5, .6}, {.7, .8}, {.9, .1}}, ""},
        {"V14 two of three beyond 2", 3, 1, {{2.1, 2.3, 0.1}}, "2:2of3-2s*0"},
        /* three of one set beyond 1: 3-1s is a pattern within a level only */
        {"V15 three levels beyond 1", 3, 1, {{1.2, 1.4, 1.1}}, ""},
        {"V15 one level three times", 3, 3, {{1.2, 0, 0}, {1.4, 0, 0}, {1.1, 0, 0}}, "6:3-1s/0"},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct history history = {.levels = rows[i].levels, .chosen = all_patterns()};
        history.chosen &= ~(PATTERN_BIT(PATTERN_6X) | PATTERN_BIT(PATTERN_8X)); /* V12 completes them on its way */
        if (rows[i].levels == 2)
            history.chosen &= ~PATTERN_BIT(PATTERN_3_1S);
        else
            history.chosen &= ~PATTERN_BIT(PATTERN_2_2S);
        for (day_number day = 0; day < 3; day++)
            for (uint32_t level = 0; level < rows[i].levels; level++)
                add(&history, day, level, (day + level) % 2 == 0 ? 0.1 : -0.1);
        for (uint32_t day = 0; day < rows[i].days; day++)
            for (uint32_t level = 0; level < rows[i].levels; level++)
                add(&history, 10 + (day_number)day, level, rows[i].z[day][level]);
        AUTO(multirule) found = multirule_evaluate(history.controls, history.count, history.levels, history.chosen);
        char out[512] = "";
        for (size_t k = 0, at = 0; k < found->hit_count; k++) {
            const struct multirule_hit *hit = &found->hits[k];
            at += (size_t)snprintf(out + at, sizeof out - at, "%s%d:%s%c%d", k ? " " : "",
                                   (int)(hit->control - 3 * rows[i].levels), pattern_name(hit->pattern),
                                   hit->across ? '*' : '/', (int)(hit->first - 3 * rows[i].levels));
        }
        cr_expect(strcmp(out, rows[i].wanted) == 0, "%s: found '%s', not '%s'", rows[i].name, out, rows[i].wanted);
    }
}

Test(multirule, each_row_pattern_wants_its_number_on_one_side)
{
    static const struct {
        enum pattern pattern;
        uint32_t length;
        double beyond, on;
    } rows[] = {
        {PATTERN_2_2S, 2, 2.01, 2}, {PATTERN_3_1S, 3, 1.01, 1}, {PATTERN_4_1S, 4, 1.01, 1}, {PATTERN_6X, 6, 0.01, 0},
        {PATTERN_8X, 8, 0.01, 0},   {PATTERN_10X, 10, 0.01, 0}, {PATTERN_12X, 12, 0.01, 0},
    };
    for (size_t i = 0; i < COUNT(rows); i++)
        for (int side = -1; side <= 1; side += 2) {
            struct multirule_series series = {0};
            for (uint32_t k = 1; k <= rows[i].length + 1; k++) {
                bool hit = multirule_add(&series, side * rows[i].beyond) & PATTERN_BIT(rows[i].pattern);
                cr_expect(hit == (k >= rows[i].length), "%s: after %u", pattern_name(rows[i].pattern), k);
            }
            multirule_add(&series, side * rows[i].on);
            bool hit = multirule_add(&series, side * rows[i].beyond) & PATTERN_BIT(rows[i].pattern);
            cr_expect(!hit, "%s: a value on the limit breaks the row", pattern_name(rows[i].pattern));
            cr_expect(pattern_length(rows[i].pattern) == rows[i].length);
        }
}

/* (5.2 - 5)/0.1 is 2.0000000000000018 in doubles: a control on its limit is not beyond it. */
Test(multirule, rounding_does_not_lift_a_value_over_its_limit)
{
    struct multirule_series series = {0};
    double z = (5.2 - 5) / 0.1;
    cr_expect(z > 2, "else this test says nothing");
    multirule_add(&series, z);
    cr_expect(multirule_add(&series, z) == 0);
    struct multirule_series mean = {0};
    for (int i = 0; i < 12; i++)
        cr_expect((multirule_add(&mean, 1e-12) & PATTERN_BIT(PATTERN_6X)) == 0);
}

Test(multirule, a_series_goes_on_over_days_and_streaks_are_told)
{
    struct history history = {.levels = 2, .chosen = PATTERN_BIT(PATTERN_2_2S)};
    static const double z[] = {2.5, 2.5, 2.5, 0, 2.5, 2.5};
    for (int i = 0; i < 6; i++)
        add(&history, 3 * i, 0, z[i]);
    expect(&history, "gaps of days", "1:2-2s/0 2:2-2s/1! 5:2-2s/4");
}

Test(multirule, a_new_control_lot_starts_the_series_of_its_level_anew)
{
    struct history history = {.levels = 2, .chosen = PATTERN_BIT(PATTERN_4_1S)};
    for (int i = 0; i < 7; i++) {
        add(&history, i, 0, 1.5);
        history.controls[i].lot = i < 3 ? 1 : 2;
    }
    expect(&history, "three and four", "6:4-1s/3");
    history.controls[3].lot = 1;
    expect(&history, "four and three", "3:4-1s/0");
}

Test(multirule, a_new_control_lot_of_any_level_ends_the_chain_of_sets)
{
    struct history history = {.levels = 2, .chosen = PATTERN_BIT(PATTERN_6X)};
    for (int day = 0; day < 4; day++) {
        add(&history, day, 0, 0.5);
        add(&history, day, 1, 0.5);
    }
    expect(&history, "one lot each", "5:6x*0 7:6x*2!");
    history.controls[3].lot = history.controls[5].lot = history.controls[7].lot =
        2; /* level 1 from the second day on */
    expect(&history, "another lot of level 1", "7:6x*2");
}

Test(multirule, a_streak_of_sets_ends_with_its_chain)
{
    struct history history = {.levels = 2, .chosen = PATTERN_BIT(PATTERN_2_2S) | PATTERN_BIT(PATTERN_R_4S)};
    for (int day = 0; day < 3; day++) {
        add(&history, day, 0, 2.5);
        add(&history, day, 1, 2.5);
    }
    history.controls[4].lot = history.controls[5].lot = 2;
    expect(&history, "2-2s in each set", "1:2-2s*0 2:2-2s/0 3:2-2s/1 3:2-2s*2! 5:2-2s*4");
}

Test(multirule, the_nth_controls_of_a_day_form_its_nth_set)
{
    struct history history = {.levels = 2, .chosen = PATTERN_BIT(PATTERN_R_4S)};
    add(&history, 0, 0, 2.5); /* first set, with control 2 */
    add(&history, 0, 0, 0.1); /* second set, with control 3 */
    add(&history, 0, 1, -2.5);
    add(&history, 0, 1, 0.1);
    expect(&history, "low low high high", "2:R-4s*0");
    history.controls[2].day = history.controls[3].day = 1;
    expect(&history, "another day", "");
}

Test(multirule, an_incomplete_set_breaks_the_chain_but_two_levels_suffice_in_a_set)
{
    struct history history = {
        .levels = 3, .chosen = PATTERN_BIT(PATTERN_6X) | PATTERN_BIT(PATTERN_2_2S) | PATTERN_BIT(PATTERN_2OF3_2S)};
    for (uint32_t level = 0; level < 3; level++)
        add(&history, 0, level, 0.5);
    add(&history, 1, 0, -2.5);
    add(&history, 1, 2, -2.5); /* without level 1 */
    for (uint32_t level = 0; level < 3; level++)
        add(&history, 2, level, 0.5);
    expect(&history, "a set of two", "4:2-2s*3");
    history.count = 3;
    for (uint32_t level = 0; level < 3; level++)
        add(&history, 1, level, 0.5);
    expect(&history, "two sets of three make six", "5:6x*0");
}

Test(multirule, levels_that_do_not_divide_the_number_have_no_form_across)
{
    struct history history = {.levels = 3,
                              .chosen = PATTERN_BIT(PATTERN_4_1S) | PATTERN_BIT(PATTERN_8X) | PATTERN_BIT(PATTERN_10X) |
                                        PATTERN_BIT(PATTERN_12X)};
    for (int day = 0; day < 4; day++)
        for (uint32_t level = 0; level < 3; level++)
            add(&history, day, level, level == 2 && day == 0 ? 0.5 : 1.5);
    expect(&history, "three levels", "9:4-1s/0 10:4-1s/1 11:12x*0");
}

Test(multirule, one_level_has_no_form_across)
{
    struct history history = {.levels = 1};
    for (int i = 0; i < 4; i++)
        add(&history, 0, 0, 1.5);
    expect(&history, "one level", "2:3-1s/0 3:3-1s/1! 3:4-1s/0");
}

Test(multirule, only_chosen_patterns_are_told_and_none_of_nothing)
{
    struct history history = {.levels = 2, .chosen = PATTERN_BIT(PATTERN_10X)};
    expect(&history, "nothing", "");
    add(&history, 0, 0, 9);
    add(&history, 0, 1, 9);
    expect(&history, "not chosen", "");
    history.chosen = 0;
    expect(&history, "all of them", "0:1-3s/0 1:1-3s/1 1:2-2s*0");
}

Test(multirule, patterns_have_their_names)
{
    static const char *const names[] = {"1-3s", "2-2s", "3-1s", "4-1s", "6x", "8x", "10x", "12x", "R-4s", "2of3-2s"};
    cr_assert(COUNT(names) == PATTERN_COUNT);
    for (size_t i = 0; i < COUNT(names); i++) {
        enum pattern pattern = PATTERN_COUNT;
        cr_expect(pattern_named(text_of(names[i]), &pattern) && strcmp(pattern_name(pattern), names[i]) == 0, "%s",
                  names[i]);
    }
    enum pattern pattern;
    cr_expect_not(pattern_named(TEXT("1-2s"), &pattern), "a warning, not a pattern");
    cr_expect_not(pattern_named(TEXT("r-4s"), &pattern));
}
