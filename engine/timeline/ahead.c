/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Looking ahead from a run: where a window of affected tests ends. */
#include "timeline/walk.h"

static bool known_coded_lot(const struct history *history, const struct run *run)
{
    const struct record *lot = history_lot(history, run->lot, run->method, false, 0);
    return lot && record_name(lot, COL(LOTS, code));
}

uint32_t walk_next_lot_change(const struct history *history, uint32_t place)
{
    const struct run *from = &history->runs[place];
    for (uint32_t i = place + 1; i < history->run_count; i++) {
        const struct run *run = &history->runs[i];
        if (run->analyzer == from->analyzer && run->method == from->method && run->lot != from->lot &&
            known_coded_lot(history, run))
            return i;
    }
    return NO_RUN;
}

static struct shelf_range codes_of(const struct history *history, const struct run *run)
{
    return shelf_find(&history->codes, map_key(run->analyzer, 0, 0, 0, 0));
}

size_t walk_codes_of(const struct history *history, uint32_t place)
{
    struct shelf_range range = codes_of(history, &history->runs[place]);
    return (size_t)(range.end - range.first);
}

moment walk_next_code_at(const struct history *history, uint32_t place)
{
    const struct run *run = &history->runs[place];
    const struct record *lot = history_lot(history, run->lot, run->method, false, 0);
    struct shelf_range range = codes_of(history, run);
    for (const struct shelf_entry *entry = shelf_from(range, run->at); lot && entry < range.end; entry++)
        if (moment_compare(entry->at, run->at) > 0 &&
            record_name(entry->record, COL(CODES, code)) == record_name(lot, COL(LOTS, code)))
            return entry->at;
    return MOMENT_ABSENT;
}

moment walk_next_daily_at(const struct history *history, uint32_t place)
{
    const struct run *run = &history->runs[place];
    uint32_t daily = names_find(history->names, TEXT("daily"));
    struct shelf_range range = shelf_find(&history->cleaning, map_key(run->analyzer, daily, 0, 0, 0));
    for (const struct shelf_entry *entry = shelf_from(range, run->at); daily && entry < range.end; entry++)
        if (moment_compare(entry->at, run->at) >= 0)
            return entry->at;
    return MOMENT_ABSENT;
}
