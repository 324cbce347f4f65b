/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Controls that cannot say what they seem to say: of a level that the method's file does not list, which meets no
 * clause; and on a lot with a limit on one side only, where nothing is ever out on the other. */
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

static const char *trouble_with(const struct history *history, const struct run *run)
{
    struct control_limits limits;
    if (!is_listed(history, run))
        return "the method's file lists no such level, so no clause counts it";
    if (history_control_limits(history, run, &limits) && !limits.word.data && !limits.has_low)
        return "the control lot has a high limit only, and no mean and sd, so no result is too low";
    if (run->limited && !limits.word.data && !limits.has_high)
        return "the control lot has a low limit only, and no mean and sd, so no result is too high";
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

/* Each control lot and level once, at its first control in the period. */
void audit_warn_of_controls(struct audit *audit, const struct history *history, struct period period)
{
    AUTO(map) told = map_new();
    for (size_t i = 0; i < history->run_count; i++) {
        const struct run *run = &history->runs[i];
        const struct method_settings *method = run->is_control ? run_method(history, run) : NULL;
        day_number day = method ? history_day(history, run->at) : DAY_ABSENT;
        if (!method || !method->has_controls || day < period.from || day > period.to)
            continue;
        uint64_t *seen = map_at(told, map_key(run->control_lot, run->level, run->method, 0, 0));
        const char *trouble = *seen ? NULL : trouble_with(history, run);
        *seen = 1;
        if (trouble)
            warn(audit, history, run, trouble);
    }
}
