/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The day before which a finding cannot have been known: that of the first record in its evidence. */
#include <stdlib.h>

#include "rulebook/judged.h"

struct evidence_days {
    const struct history *history;
    struct map *days; /* file and line -> midnight of the record's day; only of those that happened on a day */
};

static void keep_day(struct evidence_days *days, uint32_t file, uint32_t line, moment at)
{
    if (at != 0)
        *map_at(days->days, map_key(file, line, 0, 0, 0)) = (uint64_t)at;
}

struct evidence_days *evidence_days_new(const struct history *history)
{
    struct evidence_days *days = memory_new(sizeof *days);
    *days = (struct evidence_days){history, map_new()};
    for (size_t i = 0; i < history->run_count; i++)
        keep_day(days, history->runs[i].file, history->runs[i].line, history->runs[i].at);
    for (size_t kind = 0; kind < KIND_COUNT; kind++)
        for (size_t i = 0; i < history->record_count[kind]; i++) {
            const struct record *record = &history->records[kind][i];
            keep_day(days, record->file, record->line, record->at);
        }
    return days;
}

void evidence_days_free(struct evidence_days *days)
{
    if (!days)
        return;
    map_free(days->days);
    memory_free(days);
}

static int by_path(const void *a, const void *b)
{
    return text_compare(*(const struct text *)a, *(const struct text *)b);
}

static day_number day_of(const struct evidence_days *days, const struct record_place *place)
{
    const struct history *history = days->history;
    if (history->path_count == 0)
        return DAY_ABSENT;
    const struct text *path =
        bsearch(&place->file, history->paths, history->path_count, sizeof *history->paths, by_path);
    const uint64_t *at =
        path ? map_find(days->days, map_key((uint32_t)(path - history->paths), place->line, 0, 0, 0)) : NULL;
    return at ? moment_day((moment)*at, 0) : DAY_ABSENT;
}

day_number evidence_days_first(const struct evidence_days *days, const struct finding *finding)
{
    day_number first = DAY_ABSENT;
    for (size_t i = 0; i < finding->evidence_count; i++) {
        day_number day = day_of(days, &finding->evidence[i]);
        if (day != DAY_ABSENT && (first == DAY_ABSENT || day < first))
            first = day;
    }
    return first;
}
