/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Analyzers that were replaced, by the maintenance log, and whose counter goes on all the same with numbers missing:
 * records.gap begins a new count there, so the missing runs must be told here. */
#include <inttypes.h>

#include "rulebook/judged.h"
#include "timeline/walk.h"

struct look {
    struct audit *audit;
    const struct history *history;
    struct period period;
};

static void warn(void *context, uint32_t before, uint32_t after, int64_t missing)
{
    const struct look *look = context;
    const struct history *history = look->history;
    const struct run *first = &history->runs[before], *then = &history->runs[after];
    day_number day = history_day(history, then->at);
    if (day < look->period.from || day > look->period.to)
        return;
    audit_add_warning(look->audit,
                      text_print(look->audit->arena,
                                 "%.*s: %.*s:%" PRIu32
                                 ": %.*s: replaced by the maintenance log, but its counter goes on from %" PRId64
                                 " to %" PRId64 ": numbers on no log, which records.gap does not judge: %" PRId64,
                                 TEXT_FORMAT(history->settings->site), TEXT_FORMAT(history_path(history, then->file)),
                                 then->line, TEXT_FORMAT(names_text(history->names, then->analyzer)), first->sequence,
                                 then->sequence, missing));
}

void audit_warn_of_counters(struct audit *audit, const struct growing *growing, const struct history *history,
                            struct period period)
{
    struct look look = {audit, history, period};
    if (growing_judged(growing, "records.gap"))
        walk_parted(history, warn, &look);
}
