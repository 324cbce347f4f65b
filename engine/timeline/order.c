/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The order of runs along the time line: by time; in one second, where both have the analyzer's counter, by that; else
 * controls before tests, then by file path and line. A time without seconds counts as :00, or as late in its minute as
 * the runs are that the counter has before it. */
#include <stdlib.h>
#include <string.h>

#include "timeline/history.h"

static int compare(int64_t a, int64_t b) { return a < b ? -1 : a > b; }

static int64_t minute_of(const struct run *run) { return moment_seconds(run->at) / 60; }

static int by_place(const struct run *a, const struct run *b)
{
    int order = compare(a->file, b->file);
    return order ? order : compare(a->line, b->line);
}

static int by_counter(const void *a, const void *b)
{
    const struct run *x = a, *y = b;
    int order = compare(x->analyzer, y->analyzer);
    if (!order)
        order = compare(x->has_sequence, y->has_sequence);
    if (!order && x->has_sequence)
        order = compare(x->sequence, y->sequence);
    return order ? order : by_place(x, y);
}

static int in_minute(const void *a, const void *b)
{
    const struct run *x = a, *y = b;
    int order = compare(x->second, y->second);
    if (!order)
        order = compare(x->turn, y->turn);
    if (!order && x->has_sequence)
        order = compare(x->sequence, y->sequence);
    return order ? order : by_place(x, y);
}

/* Controls come before tests; but what has a number of the counter stays together, or two runs between which nothing
 * but the counter decides would make a ring with a third one that has none. */
static void take_turns(struct run *runs, size_t count)
{
    enum { CONTROL, TEST, COUNTED, TEST_BEHIND_CONTROLS };
    bool counted_controls = false;
    for (size_t i = 0; i < count; i++)
        counted_controls = counted_controls || (runs[i].is_control && runs[i].has_sequence);
    for (size_t i = 0; i < count; i++)
        runs[i].turn = runs[i].has_sequence ? COUNTED
                       : runs[i].is_control ? CONTROL
                       : counted_controls   ? TEST_BEHIND_CONTROLS
                                            : TEST;
}

/* The second of its minute that each run counts as run in. */
static void place_in_minute(struct run *runs, size_t count)
{
    bool with = false, without = false;
    for (size_t i = 0; i < count; i++) {
        runs[i].second = (uint8_t)(moment_seconds(runs[i].at) % 60);
        with = with || runs[i].second > 0;
        without = without || !moment_had_seconds(runs[i].at);
    }
    if (!with || !without)
        return;
    qsort(runs, count, sizeof *runs, by_counter);
    for (size_t i = 1, latest = runs[0].second; i < count; i++) {
        if (runs[i].analyzer != runs[i - 1].analyzer || !runs[i - 1].has_sequence)
            latest = runs[i].second;
        else if (!moment_had_seconds(runs[i].at))
            runs[i].second = (uint8_t)latest;
        else if (runs[i].second > latest)
            latest = runs[i].second;
    }
}

static void order_minute(struct run *runs, size_t count)
{
    place_in_minute(runs, count);
    take_turns(runs, count);
    for (size_t i = 1; i < count; i++) {
        if (in_minute(&runs[i - 1], &runs[i]) <= 0)
            continue;
        qsort(runs, count, sizeof *runs, in_minute);
        return;
    }
}

static void order_minutes(struct run *runs, size_t count)
{
    for (size_t first = 0, end; first < count; first = end) {
        for (end = first + 1; end < count && minute_of(&runs[end]) == minute_of(&runs[first]); end++)
            ;
        if (end - first > 1)
            order_minute(runs + first, end - first);
    }
}

static int by_minute(const struct run *a, const struct run *b) { return compare(minute_of(a), minute_of(b)); }

/* Rows come from the store in the order of their time, those of examples in any order: insertion costs next to nothing,
 * and no second copy of a large array is needed. */
static void sort_runs(struct run *runs, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        if (by_minute(&runs[i - 1], &runs[i]) <= 0)
            continue;
        struct run moved = runs[i];
        size_t at = i;
        while (at && by_minute(&runs[at - 1], &moved) > 0) {
            runs[at] = runs[at - 1];
            at--;
        }
        runs[at] = moved;
    }
}

void history_order_runs(struct history *history)
{
    size_t tests = history->run_count, controls = history->control_count;
    sort_runs(history->runs, tests);
    sort_runs(history->controls, controls);
    if (tests + controls > history->run_capacity || history->runs == NULL) {
        history->run_capacity = tests + controls;
        history->runs = memory_resize(history->runs, history->run_capacity, sizeof *history->runs);
    }
    /* The tests move to the end of the array; merging from its front never overtakes them. */
    struct run *from = history->runs + controls;
    if (tests)
        memmove(from, history->runs, tests * sizeof *from);
    size_t c = 0, t = 0;
    for (size_t at = 0; at < tests + controls; at++) {
        bool control = t == tests || (c < controls && by_minute(&history->controls[c], &from[t]) <= 0);
        history->runs[at] = control ? history->controls[c++] : from[t++];
    }
    history->run_count = tests + controls;
    history->test_count = tests;
    memory_free(history->controls);
    history->controls = NULL;
    order_minutes(history->runs, history->run_count);
}
