/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs that follow each other by an analyzer's counter. The counter's era ends at a replacement of the analyzer, or
 * where in time order the number falls by more than 1000. */
#include <stdlib.h>

#include "timeline/standing.h"

struct counted {
    uint32_t analyzer, era, run;
    int64_t sequence;
};

enum { REPLACEMENT = 1, /* place of the word in maintenance.event */ COUNTER_FALL = 1000 };

static int by_number(const void *a, const void *b)
{
    const struct counted *x = a, *y = b;
    if (x->analyzer != y->analyzer)
        return x->analyzer < y->analyzer ? -1 : 1;
    if (x->era != y->era)
        return x->era < y->era ? -1 : 1;
    if (x->sequence != y->sequence)
        return x->sequence < y->sequence ? -1 : 1;
    return x->run < y->run ? -1 : 1;
}

static bool replaced_between(const struct history *history, const struct run *before, const struct run *run)
{
    struct shelf_range range = shelf_find(&history->maintenance, map_key(run->analyzer, REPLACEMENT, 0, 0, 0));
    for (const struct shelf_entry *entry = range.first; entry < range.end; entry++)
        if (moment_compare(entry->at, before->at) > 0 && moment_compare(entry->at, run->at) <= 0)
            return true;
    return false;
}

/* All runs with a number, each with the era it belongs to; in time order. */
static struct counted *count_runs(const struct history *history, size_t *count)
{
    struct counted *all = memory_resize(NULL, history->run_count + 1, sizeof *all);
    AUTO(map) latest = map_new(); /* analyzer -> index in `all` + 1 */
    *count = 0;
    for (uint32_t i = 0; i < history->run_count; i++) {
        const struct run *run = &history->runs[i];
        if (!run->has_sequence)
            continue;
        uint64_t *before = map_at(latest, map_key(run->analyzer, 0, 0, 0, 0));
        uint32_t era = 0;
        if (*before) {
            const struct counted *last = &all[*before - 1];
            bool fell = last->sequence > run->sequence && last->sequence - run->sequence > COUNTER_FALL;
            era = last->era + (fell || replaced_between(history, &history->runs[last->run], run));
        }
        all[(*count)++] = (struct counted){run->analyzer, era, i, run->sequence};
        *before = *count;
    }
    return all;
}

/* Numbers that refused rows have: not missing, though no record has them. */
struct refused_number {
    uint32_t analyzer;
    int64_t sequence;
};

static int by_refused(const void *a, const void *b)
{
    const struct refused_number *x = a, *y = b;
    if (x->sequence != y->sequence)
        return x->sequence < y->sequence ? -1 : 1;
    return x->analyzer < y->analyzer ? -1 : x->analyzer > y->analyzer;
}

static struct refused_number *refused_numbers(const struct history *history, size_t *count)
{
    struct refused_number *all = memory_resize(NULL, history->refusal_count + 1, sizeof *all);
    *count = 0;
    for (size_t i = 0; i < history->refusal_count; i++)
        if (history->refusals[i].has_sequence)
            all[(*count)++] = (struct refused_number){history->refusals[i].analyzer, history->refusals[i].sequence};
    qsort(all, *count, sizeof *all, by_refused);
    return all;
}

static int64_t missing_between(const struct counted *a, const struct counted *b, const struct refused_number *refused,
                               size_t refused_count)
{
    int64_t missing = b->sequence - a->sequence - 1, last = a->sequence;
    for (size_t i = 0; missing > 0 && i < refused_count && refused[i].sequence < b->sequence; i++) {
        if (refused[i].sequence <= last || (refused[i].analyzer && refused[i].analyzer != a->analyzer))
            continue;
        last = refused[i].sequence;
        missing--;
    }
    return missing < 0 ? 0 : missing;
}

static void walk_pair(struct walk *walk, const struct counted *a, const struct counted *b, int64_t missing)
{
    const struct history *history = walk->history;
    const struct run *lower = &history->runs[a->run], *higher = &history->runs[b->run];
    walk->event.at = higher->at;
    walk->event.day = history_day(history, higher->at);
    walk->event.run = b->run;
    walk->event.method_index = higher->method_index;
    walk->event.place = (struct place){higher->file, higher->line};
    set_time(walk, F_at, higher->at);
    set_day(walk, F_day, walk->event.day);
    set_name(walk, F_analyzer, b->analyzer);
    set_place(walk, F_earlier_run, a->run);
    set_place(walk, F_later_run, b->run);
    set_source_run(walk, SOURCE_RUN, a->run);
    set_whole(walk, F_seconds_back, moment_seconds(lower->at) - moment_seconds(higher->at));
    set_whole(walk, F_numbers_missing, missing);
    emit(walk, SCOPE_PAIR);
}

/* Each two that follow each other on an analyzer, by era and number. */
typedef void neighbours_function(void *context, const struct counted *a, const struct counted *b, int64_t missing);

static void each_neighbours(const struct history *history, neighbours_function *function, void *context)
{
    size_t count, refused_count;
    struct counted *all = count_runs(history, &count);
    struct refused_number *refused = refused_numbers(history, &refused_count);
    qsort(all, count, sizeof *all, by_number);
    for (size_t i = 1; i < count; i++)
        if (all[i].analyzer == all[i - 1].analyzer)
            function(context, &all[i - 1], &all[i], missing_between(&all[i - 1], &all[i], refused, refused_count));
    memory_free(refused);
    memory_free(all);
}

static void take_pair(void *context, const struct counted *a, const struct counted *b, int64_t missing)
{
    if (a->era == b->era)
        walk_pair(context, a, b, missing);
}

void walk_pairs(struct walk *walk) { each_neighbours(walk->history, take_pair, walk); }

struct parted {
    parted_function *function;
    void *context;
};

static void take_parted(void *context, const struct counted *a, const struct counted *b, int64_t missing)
{
    const struct parted *parted = context;
    /* a counter that fell by more than 1000 is lower now; one that rose by more is another one's */
    if (a->era != b->era && missing > 0 && b->sequence - a->sequence <= COUNTER_FALL)
        parted->function(parted->context, a->run, b->run, missing);
}

static bool any_replaced(const struct history *history)
{
    const struct record *records = history->records[KIND_MAINTENANCE];
    for (size_t i = 0; i < history->record_count[KIND_MAINTENANCE]; i++)
        if (record_cell(&records[i], COL(MAINTENANCE, event))->whole == REPLACEMENT)
            return true;
    return false;
}

void walk_parted(const struct history *history, parted_function *function, void *context)
{
    struct parted parted = {function, context};
    if (any_replaced(history)) /* counting all runs again takes its time */
        each_neighbours(history, take_parted, &parted);
}
