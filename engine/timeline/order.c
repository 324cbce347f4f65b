/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The order of runs along the time line: by time (missing seconds as :00), controls before tests, then by the
 * analyzer's counter (rows without one first), then by file path and line. */
#include <string.h>

#include "timeline/history.h"

static int compare(int64_t a, int64_t b) { return a < b ? -1 : a > b; }

static int run_compare(const struct run *a, const struct run *b)
{
    int order = compare(moment_seconds(a->at), moment_seconds(b->at));
    if (!order)
        order = compare(b->is_control, a->is_control);
    if (!order)
        order = compare(a->has_sequence, b->has_sequence);
    if (!order && a->has_sequence)
        order = compare(a->sequence, b->sequence);
    if (!order)
        order = compare(a->file, b->file);
    return order ? order : compare(a->line, b->line);
}

/* Rows come from the store in the order of their time, so only neighbours of one second are out of order: insertion
 * costs next to nothing, and no second copy of a large array is needed. */
static void sort_runs(struct run *runs, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        if (run_compare(&runs[i - 1], &runs[i]) <= 0)
            continue;
        struct run moved = runs[i];
        size_t at = i;
        while (at && run_compare(&runs[at - 1], &moved) > 0) {
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
        bool control = t == tests || (c < controls && run_compare(&history->controls[c], &from[t]) < 0);
        history->runs[at] = control ? history->controls[c++] : from[t++];
    }
    history->run_count = tests + controls;
    history->test_count = tests;
    memory_free(history->controls);
    history->controls = NULL;
}
