/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Controls that cannot say what they seem to say: of a level that the method's file does not list, which meets no
 * clause; on a lot with a limit on one side only, where nothing is ever out on the other, or without the mean that
 * patterns need; in a unit that nobody knows; and from a lot out of date, of which controls.lot names the tests of that
 * day only, though later ones may have no other. */
#include <inttypes.h>

#include "rulebook/judged.h"

static bool is_listed(const struct history *history, const struct run *run)
{
    const struct method_settings *method = run_method(history, run);
    for (size_t i = 0; i < method->level_count; i++)
        if (history->method_names[run->method_index].levels[i] == run->level)
            return true;
    return false;
}

static const char *trouble_with(const struct history *history, const struct run *run, bool has_patterns)
{
    struct control_limits limits;
    const struct method_settings *method = run_method(history, run);
    if (!is_listed(history, run))
        return "the method's file lists no such level, so no clause counts it";
    if (history_control_limits(history, run, &limits) && !limits.word.data && !limits.has_low)
        return "the control lot has a high limit only, and no mean and sd, so no result is too low";
    if (run->limited && !limits.word.data && !limits.has_high)
        return "the control lot has a low limit only, and no mean and sd, so no result is too high";
    if (run->limited && !limits.word.data && has_patterns && method->multirule_count > 0 &&
        !(limits.has_mean && limits.sd > 0))
        return "the control lot has no mean and sd, so controls.multirule, which the method's file asks for, "
               "does not judge it";
    return NULL;
}

static void warn(struct audit *audit, const struct history *history, const struct run *run, const char *trouble)
{
    struct text path = history_path(history, run->file), lot = names_text(history->names, run->control_lot);
    struct text level = names_text(history->names, run->level);
    audit_add_warning(audit, text_print(audit->arena, "%.*s: %.*s:%" PRIu32 ": %.*s %.*s: %s",
                                        TEXT_FORMAT(history->settings->site), TEXT_FORMAT(path), run->line,
                                        TEXT_FORMAT(lot), TEXT_FORMAT(level), trouble));
}

static bool in_unknown_unit(const struct run *run)
{
    return run->other_unit && !run->converted && run->result_kind != RESULT_WORD;
}

/* Each control lot and level once, at its first control in the period; likewise a lot and level in an unknown unit. */
static void look_at_limits(struct audit *audit, const struct growing *growing, const struct history *history,
                           struct period period)
{
    bool has_patterns = growing_judged(growing, "controls.multirule");
    AUTO(map) told = map_new();
    for (size_t i = 0; i < history->run_count; i++) {
        const struct run *run = &history->runs[i];
        const struct method_settings *method = run->is_control ? run_method(history, run) : NULL;
        day_number day = method ? history_day(history, run->at) : DAY_ABSENT;
        if (!method || !method->has_controls || day < period.from || day > period.to)
            continue;
        uint64_t *seen = map_at(told, map_key(run->control_lot, run->level, run->method, 0, 0));
        const char *trouble = *seen ? NULL : trouble_with(history, run, has_patterns);
        *seen = 1;
        if (trouble)
            warn(audit, history, run, trouble);
        if (!in_unknown_unit(run))
            continue;
        seen = map_at(told, map_key(run->control_lot, run->level, run->method, run->unit, 1));
        if (!*seen)
            warn(audit, history, run,
                 "a control in a unit that the method does not use; its number was taken as it is");
        *seen = 1;
    }
}

/* ---- control lots out of date ---- */

struct resting { /* tests of later days on a control from a lot out of date */
    const struct run *control, *first;
    uint64_t tests;
};

struct all_resting {
    struct resting *items;
    size_t count, capacity;
};

/* What is told of a control lot, whose place + 1 is at `place`, 0 if it has none yet. */
static struct resting *resting_at(struct all_resting *all, uint64_t *place, const struct run *control,
                                  const struct run *test)
{
    if (!*place) {
        VECTOR_GROW(all->items, all->count, all->capacity);
        all->items[all->count++] = (struct resting){.control = control, .first = test};
        *place = all->count;
    }
    return all->items + *place - 1;
}

static bool is_in_date(const struct history *history, const struct run *control)
{
    const struct record *lot =
        history_lot(history, control->control_lot, control->method, true, control->level); /* a good one has it */
    day_number day = history_day(history, control->at), discarded_on = record_day(lot, COL(LOTS, discarded_on));
    return record_day(lot, COL(LOTS, received_on)) <= day && day <= record_day(lot, COL(LOTS, expires_on)) &&
           (discarded_on == DAY_ABSENT || day <= discarded_on);
}

static uint64_t level_key(const struct run *run, uint32_t level)
{
    return map_key(run->analyzer, run->method, level, 0, 0);
}

/* The latest good control of some level before a test, if it is of an earlier day and from a lot out of date. */
static const struct run *rests_on(const struct history *history, const struct map *last_good, const struct run *test)
{
    const struct method_settings *method = run_method(history, test);
    for (size_t i = 0; i < method->level_count; i++) {
        uint32_t level = history->method_names[test->method_index].levels[i];
        const uint64_t *last = map_find(last_good, level_key(test, level));
        const struct run *control = last ? &history->runs[*last] : NULL;
        if (control && history_day(history, control->at) < history_day(history, test->at) &&
            !is_in_date(history, control))
            return control;
    }
    return NULL;
}

static void warn_of_resting(struct audit *audit, const struct history *history, const struct resting *resting)
{
    const struct run *control = resting->control;
    char at[MOMENT_TEXT_SIZE];
    moment_print(resting->first->at, at);
    struct text trouble = text_print(
        audit->arena,
        "a good control on %.*s, but the control lot was out of date, discarded or not there yet: tests of later days "
        "that rest on such controls, from %s on: %" PRIu64,
        TEXT_FORMAT(names_text(history->names, control->analyzer)), at, resting->tests);
    warn(audit, history, control, text_string(audit->arena, trouble));
}

static void look_at_dates(struct audit *audit, const struct history *history, struct period period)
{
    AUTO(map) last_good = map_new(); /* analyzer, method, level -> place */
    AUTO(map) told = map_new();      /* analyzer, method, control lot -> place in `all` + 1 */
    struct all_resting all = {0};
    for (size_t i = 0; i < history->run_count; i++) {
        const struct run *run = &history->runs[i];
        const struct method_settings *method = run_method(history, run);
        day_number day = history_day(history, run->at);
        if (run->is_control && run->control == CONTROL_GOOD)
            *map_at(last_good, level_key(run, run->level)) = i;
        if (run->is_control || !method || !method->has_controls || day < period.from || day > period.to)
            continue;
        const struct run *control = rests_on(history, last_good, run);
        if (control)
            resting_at(&all, map_at(told, map_key(run->analyzer, run->method, control->control_lot, 0, 0)), control,
                       run)
                ->tests++;
    }
    for (size_t i = 0; i < all.count; i++)
        warn_of_resting(audit, history, &all.items[i]);
    memory_free(all.items);
}

void audit_warn_of_controls(struct audit *audit, const struct growing *growing, const struct history *history,
                            struct period period)
{
    look_at_limits(audit, growing, history, period);
    look_at_dates(audit, history, period);
}
