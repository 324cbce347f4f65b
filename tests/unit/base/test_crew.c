/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdatomic.h>
#include <stdint.h>

#include "base/crew.h"

enum { THINGS = 500 };

struct tally {
    atomic_int times[THINGS];
    int by[4];            /* what each tool was used for */
    int steps;            /* of progress */
    size_t last, stop_at; /* told; SIZE_MAX: not stopped */
    size_t bad, worse;    /* numbers that fail */
};

static bool count_one(void *context, void *tool, size_t number, struct fault *fault)
{
    struct tally *tally = context;
    atomic_fetch_add(&tally->times[number], 1);
    if (tool)
        ++*(int *)tool;
    if (number == tally->bad || number == tally->worse)
        return fault_set(fault, FAULT_FILE, "number %zu", number);
    return true;
}

static bool step(void *context, const char *work, size_t done, size_t total)
{
    struct tally *tally = context;
    cr_expect_str_eq(work, "counting");
    cr_expect(total == THINGS && done >= tally->last, "%zu of %zu after %zu", done, total, tally->last);
    tally->last = done;
    tally->steps++;
    return done < tally->stop_at;
}

static bool run(struct tally *tally, size_t hands, struct fault *fault)
{
    void *tools[4] = {&tally->by[0], &tally->by[1], &tally->by[2], &tally->by[3]};
    struct progress progress = {step, tally};
    struct crew crew = {"counting", THINGS, hands, tools, count_one, tally, &progress};
    return crew_run(&crew, fault);
}

Test(crew, each_thing_is_done_once_whatever_the_number_of_hands)
{
    for (size_t hands = 0; hands <= 4; hands++) {
        struct tally tally = {.stop_at = SIZE_MAX, .bad = SIZE_MAX, .worse = SIZE_MAX};
        struct fault fault = {0};
        cr_expect(run(&tally, hands, &fault), "%s", fault.text);
        for (size_t i = 0; i < THINGS; i++)
            cr_expect_eq(tally.times[i], 1, "%zu", i);
        cr_expect_eq(tally.by[0] + tally.by[1] + tally.by[2] + tally.by[3], THINGS);
        cr_expect(tally.steps == THINGS + 1 && tally.last == THINGS);
    }
}

Test(crew, the_first_of_the_things_that_fail_is_told_and_ends_the_work)
{
    struct tally tally = {.stop_at = SIZE_MAX, .bad = 17, .worse = 16};
    struct fault fault = {0};
    cr_expect_not(run(&tally, 1, &fault));
    cr_expect_str_eq(fault.text, "number 16");
    cr_expect(tally.times[16] == 1 && tally.times[17] == 0);
}

Test(crew, progress_stops_it_before_the_first_thing_or_later)
{
    for (size_t stop = 0; stop < 40; stop += 13) {
        struct tally tally = {.stop_at = stop, .bad = SIZE_MAX, .worse = SIZE_MAX};
        struct fault fault = {0};
        int done = 0;
        cr_expect_not(run(&tally, 2, &fault));
        cr_expect_eq(fault.code, FAULT_STOPPED);
        for (size_t i = 0; i < THINGS; i++)
            done += tally.times[i];
        cr_expect(done >= (int)stop && done <= (int)stop + 1, "%d, stopped at %zu", done, stop);
    }
}

Test(crew, nothing_to_do_is_done)
{
    struct crew crew = {.work = "counting", .hands = 3, .one = count_one};
    cr_expect(crew_run(&crew, NULL));
}
