/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "findings/portrait.h"

#include <stdlib.h>
#include <string.h>

#include "findings/portrait_parts.h"

struct text sitting_text(const struct sitting *sitting, struct text text)
{
    return text.data ? text_keep(sitting->arena, text) : text;
}

struct text sitting_name(const struct sitting *sitting, uint32_t name)
{
    return sitting_text(sitting, names_text(sitting->history->names, name));
}

struct text sitting_cell(const struct sitting *sitting, const struct record *record, int column)
{
    const struct cell *cell = record_cell(record, column);
    return cell->present ? sitting_text(sitting, cell->text) : (struct text){0};
}

struct record_place sitting_place(const struct sitting *sitting, uint32_t file, uint32_t line)
{
    return (struct record_place){sitting->paths[file], line};
}

void *sitting_items(const struct sitting *sitting, void *items, size_t count, size_t size,
                    int (*order)(const void *, const void *))
{
    void *kept = NULL;
    if (items && count) {
        qsort(items, count, size, order);
        kept = arena_take(sitting->arena, count * size);
        memcpy(kept, items, count * size);
    }
    memory_free(items);
    return kept;
}

int64_t sitting_day(const struct sitting *sitting, const struct run *run)
{
    const struct portrait *portrait = sitting->portrait;
    day_number day = history_day(sitting->history, run->at);
    return day < portrait->from || day > portrait->to ? -1 : day - portrait->from;
}

bool sitting_meets(const struct sitting *sitting, day_number first, day_number last)
{
    return first <= sitting->portrait->to && (last == DAY_ABSENT || last >= sitting->portrait->from);
}

/* ---- the site itself ---- */

static void take_settings(struct sitting *sitting)
{
    const struct site_settings *settings = sitting->history->settings;
    struct portrait *portrait = sitting->portrait;
    portrait->director = sitting_text(sitting, settings->director);
    portrait->certificate_issued_on = portrait->certificate_expires_on = DAY_ABSENT;
    if (!settings->has_certificate)
        return;
    portrait->certificate_number = sitting_text(sitting, settings->certificate_number);
    portrait->certificate_kind = sitting_text(sitting, settings->certificate_kind);
    portrait->certificate_issued_on = settings->certificate_issued_on;
    portrait->certificate_expires_on = settings->certificate_expires_on;
}

static void take_paths(struct sitting *sitting)
{
    const struct history *history = sitting->history;
    sitting->paths = arena_take(sitting->arena, (history->path_count + 1) * sizeof *sitting->paths);
    for (size_t i = 0; i < history->path_count; i++)
        sitting->paths[i] = sitting_text(sitting, history->paths[i]);
}

/* The twelve months that end with that of the period's last day; none is known yet. */
static void take_months(struct portrait *portrait)
{
    day_number last = portrait->to - day_civil(portrait->to).day + 1;
    for (int i = 0; i < PORTRAIT_MONTHS; i++)
        portrait->months[i].from = day_add_months(last, i + 1 - PORTRAIT_MONTHS);
}

struct portrait *portrait_new(const struct history *history, day_number from, day_number to, struct arena *arena)
{
    struct portrait *portrait = arena_take(arena, sizeof *portrait);
    *portrait = (struct portrait){.from = from, .to = to, .as_of = history->as_of};
    portrait->day_count = to >= from ? (size_t)(to - from) + 1 : 0;
    struct sitting sitting = {.history = history, .portrait = portrait, .arena = arena};
    take_paths(&sitting);
    take_settings(&sitting);
    take_months(portrait);
    portrait_volumes(&sitting);
    portrait_days(&sitting);
    portrait_controls(&sitting);
    portrait_lots(&sitting);
    portrait_codes(&sitting);
    portrait_people(&sitting);
    portrait_actions(&sitting);
    return portrait;
}

/* ---- volumes ---- */

static int by_method(const void *a, const void *b)
{
    return text_compare(((const struct portrait_volume *)a)->method, ((const struct portrait_volume *)b)->method);
}

static struct portrait_volume volume_of(const struct sitting *sitting, struct text method, bool on_menu)
{
    const struct method_settings *settings = settings_method(sitting->history->settings, method);
    return (struct portrait_volume){
        .method = sitting_text(sitting, method),
        .analyte = settings ? sitting_text(sitting, settings->analyte) : (struct text){0},
        .on_menu = on_menu,
        .waived = settings && settings->waived,
    };
}

static bool add_volume(struct sitting *sitting, struct portrait_volume **volumes, size_t *capacity, struct text method,
                       bool on_menu, size_t *at)
{
    struct portrait *portrait = sitting->portrait;
    for (*at = 0; *at < portrait->volume_count; ++*at)
        if (text_equal((*volumes)[*at].method, method))
            return false;
    VECTOR_GROW(*volumes, portrait->volume_count, *capacity);
    (*volumes)[portrait->volume_count++] = volume_of(sitting, method, on_menu);
    return true;
}

void portrait_volumes(struct sitting *sitting)
{
    const struct history *history = sitting->history;
    struct portrait *portrait = sitting->portrait;
    size_t capacity = history->settings->menu_count + 1, at;
    struct portrait_volume *volumes = memory_new(capacity * sizeof *volumes);
    for (size_t i = 0; i < history->settings->menu_count; i++)
        add_volume(sitting, &volumes, &capacity, history->settings->menu[i], true, &at);
    AUTO(map) places = map_new(); /* name of a method -> its place, plus one */
    for (size_t i = 0; i < history->run_count; i++) {
        const struct run *run = &history->runs[i];
        if (!run->method || sitting_day(sitting, run) < 0)
            continue;
        uint64_t *place = map_at(places, run->method);
        if (!*place) {
            add_volume(sitting, &volumes, &capacity, names_text(history->names, run->method), false, &at);
            *place = at + 1;
        }
        volumes[*place - 1].tests += !run->is_control;
        volumes[*place - 1].controls += run->is_control;
    }
    portrait->volumes = sitting_items(sitting, volumes, portrait->volume_count, sizeof *volumes, by_method);
}
