/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What controls and codes say at a run. A bench is one analyzer with one method. */
#include "timeline/standing.h"

struct bench *bench_of(struct walk *walk, const struct run *run)
{
    uint64_t *known = map_at(walk->benches, map_key(run->analyzer, run->method, 0, 0, 0));
    if (*known)
        return (struct bench *)(uintptr_t)*known;
    const struct method_settings *method = run_method(walk->history, run);
    size_t levels = method ? method->level_count : 0;
    struct bench *bench = arena_take(walk->arena, sizeof *bench + levels * sizeof *bench->levels);
    *bench = (struct bench){.analyzer = run->analyzer,
                            .method = run->method,
                            .number = ++walk->bench_count,
                            .last_coded = NO_RUN,
                            .level_count = levels};
    for (size_t i = 0; i < levels; i++)
        bench->levels[i] = (struct level_standing){.last_good = NO_RUN, .last_judged = NO_RUN};
    *known = (uintptr_t)bench;
    return bench;
}

struct instrument *instrument_of(struct walk *walk, uint32_t analyzer)
{
    uint64_t *known = map_at(walk->instruments, map_key(analyzer, 0, 0, 0, 0));
    if (*known)
        return (struct instrument *)(uintptr_t)*known;
    struct instrument *instrument = arena_take(walk->arena, sizeof *instrument);
    *instrument = (struct instrument){.analyzer = analyzer, .last_run = NO_RUN, .day = DAY_ABSENT};
    *known = (uintptr_t)instrument;
    VECTOR_GROW(walk->in_order, walk->instrument_count, walk->instrument_capacity);
    walk->in_order[walk->instrument_count++] = instrument;
    return instrument;
}

static bool in_one_minute(const struct run *a, const struct run *b)
{
    return moment_seconds(a->at) / 60 == moment_seconds(b->at) / 60;
}

static uint64_t level_key(const struct run *run) { return map_key(run->analyzer, run->method, run->level, 0, 0); }

static uint32_t place_of(const uint64_t *known) { return known && *known ? (uint32_t)(*known - 1) : NO_RUN; }

/* Of a failed control's own minute only a good one that surely came before it. */
static uint32_t last_good_before(const struct walk *walk, const struct run *run)
{
    uint32_t last = place_of(map_find(walk->last_good, level_key(run)));
    if (last == NO_RUN || run->control != CONTROL_FAILED)
        return last;
    const struct run *good = &walk->history->runs[last];
    bool counted = good->has_sequence && run->has_sequence;
    bool timed = moment_had_seconds(good->at) && moment_had_seconds(run->at) && good->at != run->at;
    if (!in_one_minute(good, run) || counted || timed)
        return last;
    return place_of(map_find(walk->good_before, level_key(run)));
}

static void facts_of_control(struct walk *walk, const struct run *run)
{
    set_name(walk, F_control_lot, run->control_lot);
    set_name(walk, F_level, run->level);
    if (run->accepted != ACCEPTED_ABSENT)
        set_yes(walk, F_accepted, run->accepted == ACCEPTED_YES);
    if (run->control != CONTROL_UNJUDGED)
        set_yes(walk, F_control_failed, run->control == CONTROL_FAILED);
    set_yes(walk, F_control_limited, run->limited);
    if (run->limited)
        set_yes(walk, F_control_within, run->within);
    if (!run->method)
        return;
    set_yes(walk, F_good_later_that_day, run->good_later);
    set_place(walk, F_last_good, last_good_before(walk, run));
}

static void facts_of_latest_controls(struct walk *walk, const struct bench *bench)
{
    bool failed = bench->others_failed > 0;
    if (failed)
        set_source_run(walk, SOURCE_CONTROLS, bench->other_failed);
    for (size_t i = 0; i < bench->level_count; i++) {
        if (!bench->levels[i].failed)
            continue;
        failed = true;
        set_source_run(walk, SOURCE_CONTROLS, bench->levels[i].last_judged);
    }
    set_yes(walk, F_latest_control_failed, failed);
}

/* Each level had a good control on the run's lot (and by its operator, if `operator_` is not 0). */
static bool good_levels(const struct walk *walk, const struct bench *bench, const struct run *run, uint32_t operator_)
{
    for (size_t i = 0; i < bench->level_count; i++)
        if (!map_find(walk->good_on_lot, map_key(bench->number, (uint32_t)i, run->lot, operator_, 0)))
            return false;
    return true;
}

/* Keys of good controls on a lot at any analyzer of the site: a bench's number is never 0. */
static uint64_t site_lot_key(const struct run *run, uint32_t level)
{
    return map_key(0, level, run->lot, run->method, 0);
}

static bool lot_good_levels(const struct walk *walk, const struct bench *bench, const struct run *run)
{
    for (size_t i = 0; i < bench->level_count; i++)
        if (!map_find(walk->good_on_lot, site_lot_key(run, (uint32_t)i)))
            return false;
    return true;
}

/* Is the run coded, and are its lot and the lot's code known? */
static bool coded_on_known_lot(const struct walk *walk, const struct run *run, const struct record **lot)
{
    const struct method_settings *method = run_method(walk->history, run);
    if (!method || !method->coded)
        return false;
    *lot = history_lot(walk->history, run->lot, run->method, false, 0);
    return *lot && record_name(*lot, COL(LOTS, code));
}

/* Was the code entered into the run's analyzer after `before` and up to the run? */
static bool code_entered(const struct walk *walk, const struct run *run, const struct run *before, uint32_t code)
{
    struct shelf_range range = shelf_find(&walk->history->codes, map_key(run->analyzer, 0, 0, 0, 0));
    for (const struct shelf_entry *entry = range.end; entry > range.first;) {
        entry--;
        if (moment_compare(entry->at, run->at) > 0)
            continue;
        if (moment_seconds(entry->at) / 60 < moment_seconds(before->at) / 60)
            return false;
        if (moment_compare(entry->at, before->at) > 0 && record_name(entry->record, COL(CODES, code)) == code)
            return true;
    }
    return false;
}

static void facts_of_code_change(struct walk *walk, const struct bench *bench, const struct run *run)
{
    const struct record *lot, *lot_before;
    if (!coded_on_known_lot(walk, run, &lot) || bench->last_coded == NO_RUN)
        return;
    const struct run *before = &walk->history->runs[bench->last_coded];
    lot_before = history_lot(walk->history, before->lot, before->method, false, 0);
    uint32_t code = record_name(lot, COL(LOTS, code));
    bool changed = run->lot != before->lot && code != record_name(lot_before, COL(LOTS, code));
    set_yes(walk, F_lot_changed, changed);
    set_yes(walk, F_code_changed, changed && code_entered(walk, run, before, code));
}

void facts_of_bench(struct walk *walk, const struct bench *bench, const struct run *run, uint32_t place)
{
    (void)place;
    if (run->is_control)
        facts_of_control(walk, run);
    if (!run->method)
        return;
    facts_of_code_change(walk, bench, run);
    const struct method_settings *method = run_method(walk->history, run);
    if (!method || !method->has_controls)
        return;
    set_yes(walk, F_lot_good_levels, lot_good_levels(walk, bench, run));
    if (run->is_control)
        return;
    facts_of_latest_controls(walk, bench);
    set_yes(walk, F_good_on_lot, good_levels(walk, bench, run, 0));
    set_yes(walk, F_good_by_operator, good_levels(walk, bench, run, run->operator_));
}

/* A level that the method does not list meets no clause, but where it fails, a control has failed. */
static void take_other_level(struct walk *walk, struct bench *bench, const struct run *run, uint32_t place)
{
    uint64_t *failed = map_at(walk->others_failed, level_key(run));
    if (run->control == CONTROL_FAILED) {
        bench->others_failed += !*failed;
        bench->other_failed = place;
        *failed = 1;
    } else if (*failed && run->takes_back) {
        bench->others_failed--;
        *failed = 0;
    }
}

static void note_good(struct walk *walk, const struct run *run, uint32_t place)
{
    uint64_t *last = map_at(walk->last_good, level_key(run));
    if (*last && !in_one_minute(&walk->history->runs[*last - 1], run))
        *map_at(walk->good_before, level_key(run)) = *last;
    *last = place + 1;
}

static void take_control(struct walk *walk, struct bench *bench, const struct run *run, uint32_t place)
{
    if (run->control == CONTROL_UNJUDGED)
        return;
    bool good = run->control == CONTROL_GOOD;
    if (good)
        note_good(walk, run, place);
    if (run->method_index == NO_METHOD)
        return;
    const uint32_t *levels = walk->history->method_names[run->method_index].levels;
    bool listed = false;
    for (size_t i = 0; i < bench->level_count; i++) {
        if (levels[i] != run->level)
            continue;
        listed = true;
        struct level_standing *level = &bench->levels[i];
        if (!good || !level->failed || run->takes_back) {
            level->failed = !good;
            level->last_judged = place;
        }
        if (!good)
            continue;
        level->last_good = place;
        level->tests_before_good = bench->tests;
        *map_at(walk->good_on_lot, site_lot_key(run, (uint32_t)i)) = place + 1;
        *map_at(walk->good_on_lot, map_key(bench->number, (uint32_t)i, run->lot, 0, 0)) = place + 1;
        *map_at(walk->good_on_lot, map_key(bench->number, (uint32_t)i, run->lot, run->operator_, 0)) = place + 1;
    }
    if (!listed)
        take_other_level(walk, bench, run, place);
}

void bench_take(struct walk *walk, struct bench *bench, const struct run *run, uint32_t place)
{
    const struct record *lot;
    if (run->method && coded_on_known_lot(walk, run, &lot))
        bench->last_coded = place;
    if (!run->method)
        return;
    if (run->is_control)
        take_control(walk, bench, run, place);
    else
        bench->tests++;
}
