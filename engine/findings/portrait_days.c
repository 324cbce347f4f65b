/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The portrait's analyzers, day by day. */
#include <string.h>

#include "findings/portrait_parts.h"

struct seen { /* an analyzer in service or with runs in the period */
    uint32_t analyzer, method;
    uint64_t method_tests; /* of that method, the most so far */
    struct portrait_analyzer portrait;
};

struct seen_list {
    struct seen *items;
    size_t count, capacity;
    struct map *places; /* name of an analyzer -> its place, plus one */
};

static struct seen *see(struct seen_list *list, uint32_t analyzer)
{
    uint64_t *place = map_at(list->places, analyzer);
    if (!*place) {
        VECTOR_GROW(list->items, list->count, list->capacity);
        list->items[list->count++] = (struct seen){.analyzer = analyzer};
        *place = list->count;
    }
    return &list->items[*place - 1];
}

static void see_those_in_service(const struct sitting *sitting, struct seen_list *list)
{
    const struct history *history = sitting->history;
    for (size_t i = 0; i < history->record_count[KIND_ANALYZERS]; i++) {
        const struct record *row = &history->records[KIND_ANALYZERS][i];
        if (sitting_meets(sitting, record_day(row, COL(ANALYZERS, in_service_on)),
                          record_day(row, COL(ANALYZERS, retired_on))))
            see(list, record_name(row, COL(ANALYZERS, analyzer)));
    }
}

/* Those with runs, and the method that each ran most. */
static void see_those_that_ran(const struct sitting *sitting, struct seen_list *list)
{
    AUTO(map) tests = map_new(); /* analyzer and method -> patient tests */
    for (size_t i = 0; i < sitting->history->run_count; i++) {
        const struct run *run = &sitting->history->runs[i];
        if (sitting_day(sitting, run) < 0)
            continue;
        struct seen *seen = see(list, run->analyzer);
        if (run->is_control || !run->method)
            continue;
        uint64_t count = ++*map_at(tests, map_key(run->analyzer, run->method, 0, 0, 0));
        if (count <= seen->method_tests)
            continue;
        seen->method_tests = count;
        seen->method = run->method;
    }
}

/* In service from the first of its rows on, until the last one is retired. */
static void take_service(const struct sitting *sitting, struct seen *seen)
{
    struct shelf_range range = shelf_find(&sitting->history->analyzer_rows, map_key(seen->analyzer, 0, 0, 0, 0));
    day_number latest = DAY_ABSENT, first = DAY_ABSENT, last = DAY_ABSENT;
    bool still = false;
    uint32_t method = 0;
    for (const struct shelf_entry *entry = range.first; entry < range.end; entry++) {
        day_number from = record_day(entry->record, COL(ANALYZERS, in_service_on));
        day_number to = record_day(entry->record, COL(ANALYZERS, retired_on));
        first = first == DAY_ABSENT || from < first ? from : first;
        last = to > last ? to : last; /* DAY_ABSENT is less than any day */
        still = still || to == DAY_ABSENT;
        if (from < latest)
            continue;
        latest = from;
        method = record_name(entry->record, COL(ANALYZERS, method));
    }
    if (!seen->method)
        seen->method = method;
    seen->portrait.in_service_on = first;
    seen->portrait.retired_on = still ? DAY_ABSENT : last;
}

static void take_method(const struct sitting *sitting, struct seen *seen)
{
    struct portrait_analyzer *portrait = &seen->portrait;
    portrait->analyzer = sitting_name(sitting, seen->analyzer);
    portrait->method = sitting_name(sitting, seen->method);
    const struct method_settings *method =
        seen->method ? settings_method(sitting->history->settings, portrait->method) : NULL;
    if (!method)
        return;
    portrait->cleaned_daily = method->cleaning_daily;
    portrait->controls = method->has_controls;
    portrait->level_count = (uint32_t)method->level_count;
    for (size_t i = 0; i < method->clause_count; i++)
        portrait->controls_daily = portrait->controls_daily || method->clauses[i].kind == CLAUSE_EACH_DAY;
}

static void take_cleaning(const struct sitting *sitting, struct seen *seen)
{
    const struct history *history = sitting->history;
    uint32_t daily = names_find(history->names, TEXT("daily"));
    struct shelf_range range = shelf_find(&history->cleaning, map_key(seen->analyzer, daily, 0, 0, 0));
    for (const struct shelf_entry *entry = range.first; daily && entry < range.end; entry++) {
        day_number day = history_day(history, entry->at);
        if (sitting_meets(sitting, day, day))
            seen->portrait.days[day - sitting->portrait->from].cleanings++;
    }
}

static void make_days(const struct sitting *sitting, struct seen *seen)
{
    size_t count = sitting->portrait->day_count;
    struct portrait_day *days = arena_take(sitting->arena, (count + 1) * sizeof *days);
    memset(days, 0, (count + 1) * sizeof *days);
    for (size_t i = 0; i < count; i++)
        days[i].is_open = settings_open_on(sitting->history->settings, sitting->portrait->from + (day_number)i);
    seen->portrait.days = days;
}

/* Is the control of a level that the analyzer's method names? */
static bool is_level(const struct sitting *sitting, const struct seen *seen, const struct run *run)
{
    const struct method_settings *method = run_method(sitting->history, run);
    if (run->method != seen->method || !method)
        return false;
    for (size_t i = 0; i < method->level_count; i++)
        if (sitting->history->method_names[run->method_index].levels[i] == run->level)
            return true;
    return false;
}

static void count_control(const struct sitting *sitting, const struct seen *seen, const struct run *run, int64_t day,
                          struct map *levels, struct portrait_day *at)
{
    at->controls_good += run->control == CONTROL_GOOD;
    at->controls_failed += run->control == CONTROL_FAILED;
    at->controls_unjudged += run->control == CONTROL_UNJUDGED;
    if (run->control == CONTROL_GOOD && is_level(sitting, seen, run) &&
        (*map_at(levels, map_key(run->analyzer, (uint32_t)day, run->level, 0, 0)))++ == 0)
        at->levels_good++;
}

static void count_runs(const struct sitting *sitting, struct seen_list *list)
{
    AUTO(map) levels = map_new(); /* analyzer, day and level with a good control */
    for (size_t i = 0; i < sitting->history->run_count; i++) {
        const struct run *run = &sitting->history->runs[i];
        int64_t day = sitting_day(sitting, run);
        if (day < 0)
            continue;
        const struct seen *seen = see(list, run->analyzer);
        struct portrait_day *days = seen->portrait.days;
        if (run->is_control && days)
            count_control(sitting, seen, run, day, levels, &days[day]);
        else if (days)
            days[day].tests++;
    }
}

static int by_analyzer(const void *a, const void *b)
{
    return text_compare(((const struct portrait_analyzer *)a)->analyzer,
                        ((const struct portrait_analyzer *)b)->analyzer);
}

void portrait_days(struct sitting *sitting)
{
    struct portrait *portrait = sitting->portrait;
    AUTO(map) places = map_new();
    struct seen_list list = {.places = places};
    see_those_in_service(sitting, &list);
    see_those_that_ran(sitting, &list);
    struct portrait_analyzer *analyzers = memory_new((list.count + 1) * sizeof *analyzers);
    for (size_t i = 0; i < list.count; i++) {
        take_service(sitting, &list.items[i]);
        take_method(sitting, &list.items[i]);
        make_days(sitting, &list.items[i]);
        take_cleaning(sitting, &list.items[i]);
    }
    count_runs(sitting, &list);
    for (size_t i = 0; i < list.count; i++)
        analyzers[i] = list.items[i].portrait;
    portrait->analyzer_count = list.count;
    portrait->analyzers = sitting_items(sitting, analyzers, list.count, sizeof *analyzers, by_analyzer);
    memory_free(list.items);
}
