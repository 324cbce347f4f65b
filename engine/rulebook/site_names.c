/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Analyzers and methods that nobody lists: what was written down for them counts for none, and must not pass in
 * silence; nor must runs and entries whose method cannot be told. */
#include <inttypes.h>

#include "rulebook/judged.h"

struct look { /* for names that nobody lists */
    struct audit *audit;
    const struct history *history;
    struct period period;
    struct map *told; /* map_key(name, trouble) -> 1 */
    struct map
        *used; /* analyzers that have runs, which analyzer.in-service judges -> place in look_at_runs + 1, or 0 */
};

static bool in_period(const struct look *look, moment at)
{
    day_number day = history_day(look->history, at);
    return day >= look->period.from && day <= look->period.to;
}

static bool is_listed(const struct history *history, uint32_t analyzer)
{
    struct shelf_range range = shelf_find(&history->analyzer_rows, map_key(analyzer, 0, 0, 0, 0));
    return range.first < range.end;
}

enum trouble { NO_TROUBLE, NO_SUCH_ANALYZER, NO_SUCH_METHOD, METHOD_NOT_TOLD };

static const char *const troubles[] = {
    [NO_SUCH_ANALYZER] =
        "the analyzers log has no such analyzer, so what is written down for it counts for no analyzer",
    [NO_SUCH_METHOD] = "there is no file of such a method, so what is written down for it counts for none",
    [METHOD_NOT_TOLD] = "an entry without method, and the analyzers log does not tell which, so it counts for none",
};

/* Each name once, at its first entry in the period. */
static void warn_once(struct look *look, const struct record *record, uint32_t name, enum trouble trouble)
{
    const struct history *history = look->history;
    uint64_t *told = map_at(look->told, map_key(name, trouble, 0, 0, 0));
    if (!*told)
        audit_add_warning(look->audit, text_print(look->audit->arena, "%.*s: %.*s:%" PRIu32 ": %.*s: %s",
                                                  TEXT_FORMAT(history->settings->site),
                                                  TEXT_FORMAT(history_path(history, record->file)), record->line,
                                                  TEXT_FORMAT(names_text(history->names, name)), troubles[trouble]));
    *told = 1;
}

/* ---- entries ---- */

static void look_at_entry(struct look *look, const struct record *record, int analyzer_column, int method_column)
{
    const struct history *history = look->history;
    uint32_t analyzer = record_name(record, analyzer_column);
    uint32_t method = method_column < 0 ? 0 : record_name(record, method_column);
    if (!is_listed(history, analyzer) && !map_find(look->used, map_key(analyzer, 0, 0, 0, 0)))
        warn_once(look, record, analyzer, NO_SUCH_ANALYZER);
    else if (method_column >= 0 && !method && !history_method_of(history, analyzer, history_day(history, record->at)))
        warn_once(look, record, analyzer, METHOD_NOT_TOLD);
    if (method && !settings_method(history->settings, names_text(history->names, method)))
        warn_once(look, record, method, NO_SUCH_METHOD);
}

/* All kinds that say what happened to an analyzer at some time. */
static void look_at_entries(struct look *look)
{
    const struct history *history = look->history;
    for (int k = 0; k < KIND_COUNT; k++) {
        const struct record_kind *kind = kind_of((enum kind_id)k);
        int analyzer = kind_column(kind, TEXT("analyzer")), method = kind_column(kind, TEXT("method"));
        if (analyzer < 0 || kind->event_column < 0 || kind->columns[kind->event_column].type != CELL_TIME)
            continue;
        for (size_t i = 0; i < history->record_count[k]; i++)
            if (in_period(look, history->records[k][i].at))
                look_at_entry(look, &history->records[k][i], analyzer, method);
    }
}

/* ---- runs ---- */

struct unjudged { /* runs of an analyzer whose method cannot be told */
    const struct run *first;
    uint64_t tests, controls;
};

struct all_unjudged {
    struct unjudged *items;
    size_t count, capacity;
};

static void warn_of_unjudged(struct look *look, const struct unjudged *unjudged)
{
    const struct history *history = look->history;
    const struct run *first = unjudged->first;
    audit_add_warning(
        look->audit,
        text_print(look->audit->arena,
                   "%.*s: %.*s:%" PRIu32
                   ": %.*s: runs whose method neither they nor the analyzers log tell: tests %" PRIu64
                   ", controls %" PRIu64 "; no method's rule judges them, and the tests are not vouched for",
                   TEXT_FORMAT(history->settings->site), TEXT_FORMAT(history_path(history, first->file)), first->line,
                   TEXT_FORMAT(names_text(history->names, first->analyzer)), unjudged->tests, unjudged->controls));
}

/* Of the analyzer whose place + 1 is at `place`, 0 if it has none yet. */
static struct unjudged *unjudged_at(struct all_unjudged *all, uint64_t *place, const struct run *run)
{
    if (!*place) {
        VECTOR_GROW(all->items, all->count, all->capacity);
        all->items[all->count++] = (struct unjudged){.first = run};
        *place = all->count;
    }
    return all->items + *place - 1;
}

static void look_at_runs(struct look *look)
{
    const struct history *history = look->history;
    struct all_unjudged all = {0};
    for (size_t i = 0; i < history->run_count; i++) {
        const struct run *run = &history->runs[i];
        uint64_t *place = map_at(look->used, map_key(run->analyzer, 0, 0, 0, 0));
        if (run->method || !in_period(look, run->at))
            continue;
        struct unjudged *unjudged = unjudged_at(&all, place, run);
        unjudged->tests += !run->is_control;
        unjudged->controls += run->is_control;
    }
    for (size_t i = 0; i < all.count; i++)
        warn_of_unjudged(look, &all.items[i]);
    memory_free(all.items);
}

void audit_warn_of_names(struct audit *audit, const struct history *history, struct period period)
{
    AUTO(map) told = map_new();
    AUTO(map) used = map_new();
    struct look look = {audit, history, period, told, used};
    look_at_runs(&look);
    look_at_entries(&look);
}
