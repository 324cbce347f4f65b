/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Records that say when they were written: runs at their place on the time line, cleaning and readings behind them. */
#include "timeline/standing.h"

void walk_entry_of_run(struct walk *walk, const struct run *run)
{
    if (run->recorded_at == MOMENT_ABSENT)
        return;
    set_text(walk, F_kind, run->is_control ? TEXT("controls") : TEXT("tests"));
    set_time(walk, F_recorded_at, run->recorded_at);
    emit(walk, SCOPE_ENTRY);
    unset_scope(walk, SCOPE_ENTRY);
}

void walk_other_entries(struct walk *walk)
{
    const struct history *history = walk->history;
    for (int k = 0; k < KIND_COUNT; k++) {
        const struct record_kind *kind = kind_of((enum kind_id)k);
        int written = kind_column(kind, TEXT("recorded_at"));
        if (k == KIND_TESTS || k == KIND_CONTROLS || written < 0 || kind->event_column < 0)
            continue;
        for (size_t i = 0; i < history->record_count[k]; i++) {
            const struct record *record = &history->records[k][i];
            if (!record->cells[written].present)
                continue;
            moment at = record->cells[kind->event_column].whole;
            walk->event.at = at;
            walk->event.day = history_day(history, at);
            walk->event.place = (struct place){record->file, record->line};
            set_time(walk, F_at, at);
            set_day(walk, F_day, walk->event.day);
            set_text(walk, F_kind, text_of(kind->name));
            set_time(walk, F_recorded_at, record->cells[written].whole);
            emit(walk, SCOPE_ENTRY);
        }
    }
}
