/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>

#include "findings/streaks.h"

struct told {
    size_t count;
    uint64_t events[8];
    day_number from[8], to[8];
};

static void tell(void *context, struct streak *streak)
{
    struct told *told = context;
    told->events[told->count] = streak->events;
    told->from[told->count] = streak->from.day;
    told->to[told->count++] = streak->to.day;
}

/* "F" fails, "." is met, in days 0, 1, 2 …; the period is from..to. Subjects A and B alternate where `two` is set. */
static struct told run(const char *events, enum finding_shape shape, day_number from, day_number to, bool two)
{
    AUTO(arena) arena = arena_new();
    AUTO(streaks) streaks = streaks_new(arena, shape, false);
    struct told told = {0};
    for (day_number day = 0; events[day] != '\0'; day++) {
        struct subject subject = {.fields = {[SUBJECT_ANALYZER] = two && day % 2 ? 2 : 1}};
        bool in_period = day >= from && day <= to, first;
        if (events[day] == '.')
            streaks_met(streaks, &subject);
        else
            streaks_failed(streaks, &subject, (struct when){.kind = WHEN_DAY, .day = day}, in_period, &first);
    }
    streaks_end(streaks, tell, &told);
    return told;
}

Test(streaks, a_met_event_ends_a_streak)
{
    struct told told = run("FF.F..FFF", SHAPE_STREAK, 0, 99, false);
    cr_assert_eq(told.count, 3);
    cr_expect(told.events[0] == 2 && told.events[1] == 1 && told.events[2] == 3);
    cr_expect(told.from[2] == 6 && told.to[2] == 8);
}

Test(streaks, a_streak_counts_whole_if_one_of_its_events_lies_in_the_period)
{
    struct told told = run("FF.FFFF.FF", SHAPE_STREAK, 4, 5, false);
    cr_assert_eq(told.count, 1);
    cr_expect(told.events[0] == 4 && told.from[0] == 3 && told.to[0] == 6);
    cr_expect_eq(run("FF......FF", SHAPE_STREAK, 4, 5, false).count, 0);
}

/* Whether a subject's first event failed, of streaks begun late. */
static bool reaches_back(const char *events, enum finding_shape shape, bool begun_late)
{
    AUTO(arena) arena = arena_new();
    AUTO(streaks) streaks = streaks_new(arena, shape, begun_late);
    for (size_t i = 0; events[i] != '\0'; i++) { /* A and B fail, a and b are met */
        bool first, is_a = events[i] == 'a' || events[i] == 'A';
        struct subject subject = {.fields = {[SUBJECT_ANALYZER] = is_a ? 1 : 2}};
        if (events[i] < 'a')
            streaks_failed(streaks, &subject, (struct when){.kind = WHEN_DAY, .day = (day_number)i}, true, &first);
        else
            streaks_met(streaks, &subject);
    }
    return streaks_reach_back(streaks);
}

Test(streaks, begun_late_they_may_reach_back_where_a_subjects_first_event_failed)
{
    cr_expect(reaches_back("A", SHAPE_STREAK, true));
    cr_expect(reaches_back("aAB", SHAPE_STREAK, true));
    cr_expect_not(reaches_back("aAAabBaA", SHAPE_STREAK, true));
    cr_expect_not(reaches_back("AB", SHAPE_STREAK, false));
    cr_expect_not(reaches_back("AB", SHAPE_EACH, true));
}

Test(streaks, subjects_do_not_break_each_others)
{
    struct told told = run("F.F.F.", SHAPE_STREAK, 0, 99, true);
    cr_assert_eq(told.count, 1);
    cr_expect_eq(told.events[0], 3);
}

Test(streaks, each_stands_alone_and_only_in_the_period)
{
    struct told told = run("FFFFF", SHAPE_EACH, 1, 3, false);
    cr_assert_eq(told.count, 3);
    cr_expect(told.events[0] == 1 && told.from[0] == 1 && told.from[2] == 3);
}

Test(streaks, evidence_that_came_twice_is_told_once_where_it_came_first)
{
    static const struct evidence given[] = {
        {{2, 9}, {0}}, {{1, 9}, {0}},
        {{2, 9}, {0}}, {{0, 9}, TEXT("site.yaml")},
        {{1, 3}, {0}}, {{5, 9}, TEXT("site.yaml")},
        {{1, 9}, {0}}, {{0, 9}, TEXT("methods/strip.yaml")},
    };
    static const size_t expected[] = {0, 1, 3, 4, 7};
    struct streak streak = {0};
    streak_drop_repeated(&streak);
    cr_expect_eq(streak.evidence_count, 0);
    for (size_t i = 0; i < sizeof given / sizeof *given; i++)
        streak_add_evidence(&streak, given[i].place, given[i].setting_file);
    streak_drop_repeated(&streak);
    cr_assert_eq(streak.evidence_count, 5);
    for (size_t i = 0; i < 5; i++) {
        cr_expect_eq(streak.evidence[i].place.line, given[expected[i]].place.line);
        cr_expect(text_equal(streak.evidence[i].setting_file, given[expected[i]].setting_file));
        cr_expect(streak.evidence[i].setting_file.data ||
                  streak.evidence[i].place.file == given[expected[i]].place.file);
    }
    memory_free(streak.evidence);
}
