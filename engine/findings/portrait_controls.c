/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The portrait's controls: a series for each analyzer, method and level. */
#include <stdlib.h>
#include <string.h>

#include "findings/portrait_parts.h"

enum { UNKNOWN_LEVEL = 1000 }; /* behind those that the method names */

struct gathered { /* a series while its controls come in */
    struct portrait_series series;
    size_t level_rank, capacity, limit_capacity;
};

struct gathering {
    struct gathered *items;
    size_t count, capacity;
    struct map *places; /* analyzer, method and level -> place, plus one */
};

static size_t rank_of(const struct sitting *sitting, const struct run *run)
{
    const struct method_settings *method = run_method(sitting->history, run);
    for (size_t i = 0; method && i < method->level_count; i++)
        if (sitting->history->method_names[run->method_index].levels[i] == run->level)
            return i;
    return UNKNOWN_LEVEL;
}

static struct gathered *gathered_of(const struct sitting *sitting, struct gathering *all, const struct run *run)
{
    uint64_t *place = map_at(all->places, map_key(run->analyzer, run->method, run->level, 0, 0));
    if (*place)
        return &all->items[*place - 1];
    const struct method_settings *method = run_method(sitting->history, run);
    VECTOR_GROW(all->items, all->count, all->capacity);
    all->items[all->count++] = (struct gathered){
        .level_rank = rank_of(sitting, run),
        .series = {.analyzer = sitting_name(sitting, run->analyzer),
                   .method = sitting_name(sitting, run->method),
                   .level = sitting_name(sitting, run->level),
                   .unit = method ? sitting_text(sitting, method->unit) : (struct text){0}},
    };
    *place = all->count;
    return &all->items[all->count - 1];
}

static void take_limits(const struct sitting *sitting, struct gathered *gathered, const struct run *run,
                        const struct control_limits *limits)
{
    struct portrait_series *series = &gathered->series;
    struct text lot = names_text(sitting->history->names, run->control_lot);
    for (size_t i = 0; i < series->limit_count; i++)
        if (text_equal(series->limits[i].control_lot, lot))
            return;
    VECTOR_GROW(series->limits, series->limit_count, gathered->limit_capacity);
    series->limits[series->limit_count++] = (struct portrait_lot_limits){
        .control_lot = sitting_text(sitting, lot),
        .has_mean = limits->has_mean,
        .has_low = limits->has_low,
        .has_high = limits->has_high,
        .mean = limits->mean,
        .sd = limits->sd,
        .low = limits->low,
        .high = limits->high,
    };
}

static void take_control(const struct sitting *sitting, struct gathered *gathered, const struct run *run)
{
    struct portrait_series *series = &gathered->series;
    struct control_limits limits;
    char at[MOMENT_TEXT_SIZE];
    history_control_limits(sitting->history, run, &limits);
    take_limits(sitting, gathered, run, &limits);
    moment_print(run->at, at);
    VECTOR_GROW(series->controls, series->control_count, gathered->capacity);
    struct portrait_control *control = &series->controls[series->control_count++];
    *control = (struct portrait_control){
        .at = run->at,
        .performed_at = sitting_text(sitting, text_of(at)),
        .result = sitting_text(sitting, run_result(run)),
        .control_lot = sitting_name(sitting, run->control_lot),
        .lot = sitting_name(sitting, run->lot),
        .has_number = run->result_kind == RESULT_NUMBER,
        .number = run->number,
        .state = (enum control_state)run->control,
        .place = sitting_place(sitting, run->file, run->line),
    };
    control->has_z = control->has_number && limits.has_mean && limits.sd > 0;
    if (control->has_z)
        control->z = (control->number - limits.mean) / limits.sd;
}

static int by_analyzer_method_level(const void *a, const void *b)
{
    const struct gathered *x = a, *y = b;
    int order = text_compare(x->series.analyzer, y->series.analyzer);
    if (!order)
        order = text_compare(x->series.method, y->series.method);
    if (!order && x->level_rank != y->level_rank)
        order = x->level_rank < y->level_rank ? -1 : 1;
    return order ? order : text_compare(x->series.level, y->series.level);
}

static void *moved(const struct sitting *sitting, void *items, size_t count, size_t size)
{
    void *kept = arena_take(sitting->arena, (count + 1) * size);
    if (count)
        memcpy(kept, items, count * size);
    memory_free(items);
    return kept;
}

void portrait_controls(struct sitting *sitting)
{
    struct portrait *portrait = sitting->portrait;
    AUTO(map) places = map_new();
    struct gathering all = {.places = places};
    for (size_t i = 0; i < sitting->history->run_count; i++) {
        const struct run *run = &sitting->history->runs[i];
        if (run->is_control && sitting_day(sitting, run) >= 0)
            take_control(sitting, gathered_of(sitting, &all, run), run);
    }
    if (all.count)
        qsort(all.items, all.count, sizeof *all.items, by_analyzer_method_level);
    portrait->series_count = all.count;
    portrait->series = arena_take(sitting->arena, (all.count + 1) * sizeof *portrait->series);
    for (size_t i = 0; i < all.count; i++) {
        struct portrait_series *series = &portrait->series[i];
        *series = all.items[i].series;
        series->controls = moved(sitting, series->controls, series->control_count, sizeof *series->controls);
        series->limits = moved(sitting, series->limits, series->limit_count, sizeof *series->limits);
    }
    memory_free(all.items);
}
