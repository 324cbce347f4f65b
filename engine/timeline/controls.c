/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is a control good? Its result must lie within its lot's limits for that level (low to high; a side that is not given
 * is mean ± limit_sd times sd, open without them; a word must be the word in `low`), and it must not be marked as not
 * accepted. What the operator did not accept has failed, limits or none; but a lot and level that the log does not have
 * judge nothing. */
#include <math.h>

#include "timeline/history.h"

/* Computed limits are met within 1e-9 of the limit; written ones exactly. */
static double slack(double limit) { return limit == 0 ? 1e-9 : 1e-9 * fabs(limit); }

/* The sides that nobody wrote down. */
static void limits_from_mean(const struct method_settings *method, struct control_limits *out)
{
    double width = method->limit_sd.number * out->sd;
    if (!out->has_low) {
        out->has_low = out->low_computed = true;
        out->low = out->mean - width;
    }
    if (!out->has_high) {
        out->has_high = out->high_computed = true;
        out->high = out->mean + width;
    }
}

static bool limits_of(const struct record *lot, const struct method_settings *method, struct control_limits *out)
{
    const struct cell *low = record_cell(lot, COL(LOTS, low)), *high = record_cell(lot, COL(LOTS, high));
    const struct cell *mean = record_cell(lot, COL(LOTS, mean)), *sd = record_cell(lot, COL(LOTS, sd));
    *out = (struct control_limits){.has_mean = mean->present && sd->present};
    if (out->has_mean) {
        out->mean = decimal_double(mean->text);
        out->sd = decimal_double(sd->text);
    }
    if (low->present || high->present) {
        struct result least = result_of(low->text), most = result_of(high->text);
        if (low->present && least.kind == RESULT_WORD) {
            out->word = low->text;
            return true;
        }
        out->has_low = low->present;
        out->has_high = high->present;
        out->low = least.number;
        out->high = most.number;
    }
    if (out->has_mean && method)
        limits_from_mean(method, out);
    return out->has_low || out->has_high;
}

static const struct record *lot_of(const struct history *history, const struct run *run)
{
    return run->method ? history_lot(history, run->control_lot, run->method, true, run->level) : NULL;
}

bool history_control_limits(const struct history *history, const struct run *run, struct control_limits *out)
{
    const struct record *lot = lot_of(history, run);
    *out = (struct control_limits){0};
    return lot && limits_of(lot, run_method(history, run), out);
}

static bool within(const struct run *run, const struct control_limits *limits)
{
    if (limits->word.data)
        return run->result_kind == RESULT_WORD && text_equal(run_result(run), limits->word);
    double low = limits->low - (limits->low_computed ? slack(limits->low) : 0);
    double high = limits->high + (limits->high_computed ? slack(limits->high) : 0);
    switch ((enum result_kind)run->result_kind) {
    case RESULT_NUMBER:
        return (!limits->has_low || run->number >= low) && (!limits->has_high || run->number <= high);
    case RESULT_BELOW:
        return !limits->has_low && run->number <= high;
    case RESULT_ABOVE:
        return !limits->has_high && run->number >= low;
    default:
        return false;
    }
}

static void judge(const struct history *history, struct run *run)
{
    struct control_limits limits;
    run->limited = history_control_limits(history, run, &limits);
    run->within = run->limited && within(run, &limits);
    if (lot_of(history, run) && run->accepted == ACCEPTED_NO)
        run->control = CONTROL_FAILED;
    else if (run->limited)
        run->control = run->within ? CONTROL_GOOD : CONTROL_FAILED;
    else
        run->control = CONTROL_UNJUDGED;
}

/* The failed controls of an analyzer, method and level in one minute: as many as there are, the latest of them. */
struct failed_in_minute {
    int64_t minute, sequence, at;
    bool all_counted, all_timed;
};

static int64_t minute_of(const struct run *run) { return moment_seconds(run->at) / 60; }

/* 09:00 and 09:00:00 are the same value, and writing one for the other is no amendment: it must take nothing back. */
static bool is_second_known(moment at) { return moment_had_seconds(at) && moment_seconds(at) % 60 != 0; }

static void note_failed(struct failed_in_minute *failed, const struct run *run)
{
    if (failed->minute != minute_of(run))
        *failed = (struct failed_in_minute){minute_of(run), INT64_MIN, INT64_MIN, true, true};
    failed->all_counted = failed->all_counted && run->has_sequence;
    failed->all_timed = failed->all_timed && is_second_known(run->at);
    if (run->sequence > failed->sequence)
        failed->sequence = run->sequence;
    if (run->at > failed->at)
        failed->at = run->at;
}

/* In one minute the failed one counts as the later, unless the analyzer's counter or the seconds say otherwise. */
static bool takes_back(const struct failed_in_minute *failed, const struct run *good)
{
    if (failed->minute != minute_of(good))
        return true;
    if (failed->all_counted && good->has_sequence)
        return good->sequence > failed->sequence;
    return failed->all_timed && good->at > failed->at;
}

static uint64_t level_key(const struct run *run) { return map_key(run->analyzer, run->method, run->level, 0, 0); }

static void look_for_taken_back(struct history *history)
{
    AUTO(map) levels = map_new();
    for (size_t i = 0; i < history->run_count; i++) {
        struct run *run = &history->runs[i];
        if (run->control != CONTROL_FAILED && run->control != CONTROL_GOOD)
            continue;
        uint64_t *known = map_at(levels, level_key(run));
        if (!*known) {
            struct failed_in_minute *none = arena_take(history->arena, sizeof *none);
            none->minute = -1;
            *known = (uintptr_t)none;
        }
        struct failed_in_minute *failed = (struct failed_in_minute *)(uintptr_t)*known;
        if (run->control == CONTROL_FAILED)
            note_failed(failed, run);
        else
            run->takes_back = takes_back(failed, run);
    }
}

/* Backwards: the day of the next good control of each analyzer, method and level; one that takes nothing back in its
 * own minute is good for what failed before that minute. */
static void look_for_good_later(struct history *history)
{
    AUTO(map) next_good = map_new();
    AUTO(map) doubtful = map_new(); /* place + 1 of a good one that takes nothing back */
    for (size_t i = history->run_count; i-- > 0;) {
        struct run *run = &history->runs[i];
        if (!run->is_control || !run->method)
            continue;
        uint64_t *day = map_at(next_good, level_key(run)), *doubt = map_at(doubtful, level_key(run));
        uint64_t today = (uint64_t)history_day(history, run->at) + 2; /* 0: none yet; a night's day may be -1 */
        if (*doubt && minute_of(&history->runs[*doubt - 1]) != minute_of(run)) {
            *day = (uint64_t)history_day(history, history->runs[*doubt - 1].at) + 2;
            *doubt = 0;
        }
        run->good_later = *day == today;
        if (run->control == CONTROL_GOOD && run->takes_back)
            *day = today;
        else if (run->control == CONTROL_GOOD)
            *doubt = i + 1;
    }
}

void history_judge_controls(struct history *history)
{
    for (size_t i = 0; i < history->run_count; i++)
        if (history->runs[i].is_control)
            judge(history, &history->runs[i]);
    look_for_taken_back(history);
    look_for_good_later(history);
}
