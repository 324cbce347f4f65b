/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Makes a history ready for its walk when all its rows are in: what is looked up by name, in order or on shelves. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "records/units.h"
#include "timeline/history.h"

static uint32_t *find_names(struct history *history, const struct text *texts, size_t count)
{
    uint32_t *found = arena_take(history->arena, (count + 1) * sizeof *found);
    for (size_t i = 0; i < count; i++)
        found[i] = names_find(history->names, texts[i]);
    return found;
}

static void name_methods(struct history *history)
{
    const struct site_settings *settings = history->settings;
    history->method_names = arena_take(history->arena, (settings->method_count + 1) * sizeof *history->method_names);
    for (size_t i = 0; i < settings->method_count; i++) {
        const struct method_settings *method = &settings->methods[i];
        struct text *tasks = arena_take(history->arena, (method->task_count + 1) * sizeof *tasks);
        for (size_t t = 0; t < method->task_count; t++)
            tasks[t] = method->tasks[t].name;
        history->method_names[i] = (struct method_names){
            .method = names_find(history->names, method->method),
            .unit = names_find(history->names, method->unit),
            .also_units = find_names(history, method->also_units, method->also_unit_count),
            .levels = find_names(history, method->levels, method->level_count),
            .tasks = find_names(history, tasks, method->task_count),
        };
    }
}

static int by_bytes(const void *a, const void *b)
{
    return text_compare(*(const struct text *)a, *(const struct text *)b);
}

static void note_path(struct history *history, uint32_t file, size_t *capacity)
{
    uint64_t *seen = map_at(history->path_ranks, file);
    if (*seen)
        return;
    *seen = 1;
    VECTOR_GROW(history->paths, history->path_count, *capacity);
    history->paths[history->path_count++] = names_text(history->names, file);
}

/* Replaces the names of paths by their ranks, so that comparing two places needs no text. */
static void rank_paths(struct history *history)
{
    size_t capacity = 0;
    for (size_t i = 0; i < history->run_count; i++)
        note_path(history, history->runs[i].file, &capacity);
    for (size_t i = 0; i < history->control_count; i++)
        note_path(history, history->controls[i].file, &capacity);
    for (int k = 0; k < KIND_COUNT; k++)
        for (size_t i = 0; i < history->record_count[k]; i++)
            note_path(history, history->records[k][i].file, &capacity);
    struct text *unsorted = history->paths;
    if (history->path_count)
        qsort(unsorted, history->path_count, sizeof *unsorted, by_bytes);
    history->paths = arena_take(history->arena, (history->path_count + 1) * sizeof *unsorted);
    for (size_t i = 0; i < history->path_count; i++) {
        history->paths[i] = unsorted[i];
        *map_at(history->path_ranks, names_find(history->names, unsorted[i])) = i;
    }
    memory_free(unsorted);
    for (size_t i = 0; i < history->run_count; i++)
        history->runs[i].file = (uint32_t)*map_find(history->path_ranks, history->runs[i].file);
    for (size_t i = 0; i < history->control_count; i++)
        history->controls[i].file = (uint32_t)*map_find(history->path_ranks, history->controls[i].file);
    for (int k = 0; k < KIND_COUNT; k++)
        for (size_t i = 0; i < history->record_count[k]; i++)
            history->records[k][i].file = (uint32_t)*map_find(history->path_ranks, history->records[k][i].file);
}

static uint64_t key_of(const struct record *record, int a, int b)
{
    return map_key(record_name(record, a), b < 0 ? 0 : record_name(record, b), 0, 0, 0);
}

static int by_time(const void *a, const void *b)
{
    const struct record *x = a, *y = b;
    if (moment_seconds(x->at) != moment_seconds(y->at))
        return moment_seconds(x->at) < moment_seconds(y->at) ? -1 : 1;
    if (x->file != y->file)
        return x->file < y->file ? -1 : 1;
    return x->line < y->line ? -1 : x->line > y->line;
}

static void sort_records(struct history *history)
{
    for (int k = 0; k < KIND_COUNT; k++)
        if (history->record_count[k])
            qsort(history->records[k], history->record_count[k], sizeof *history->records[k], by_time);
}

static void put_lots(struct history *history)
{
    for (size_t i = 0; i < history->record_count[KIND_LOTS]; i++) {
        const struct record *record = &history->records[KIND_LOTS][i];
        uint64_t key = map_key(record_name(record, COL(LOTS, lot)), record_name(record, COL(LOTS, method)),
                               (uint32_t)record->cells[COL(LOTS, use)].whole, record_name(record, COL(LOTS, level)), 0);
        shelf_add(&history->lots, key, 0, record);
    }
    shelf_sort(&history->lots);
}

static void put_maintenance(struct history *history)
{
    for (size_t i = 0; i < history->record_count[KIND_MAINTENANCE]; i++) {
        const struct record *record = &history->records[KIND_MAINTENANCE][i];
        uint64_t key = map_key(record_name(record, COL(MAINTENANCE, analyzer)),
                               (uint32_t)record->cells[COL(MAINTENANCE, event)].whole, 0, 0, 0);
        shelf_add(&history->maintenance, key, record->at, record);
    }
    shelf_sort(&history->maintenance);
}

static uint16_t method_index(const struct history *history, uint32_t method)
{
    for (size_t i = 0; method && i < history->settings->method_count; i++)
        if (history->method_names[i].method == method)
            return (uint16_t)i;
    return NO_METHOD;
}

/* Beyond the range nothing was compared, the same word twice says nothing of a method that has only numbers, and no lot
 * is checked against itself. */
static bool is_comparison(const struct history *history, const struct record *check, uint32_t method)
{
    if (record_name(check, COL(LOT_CHECKS, old_lot)) == record_name(check, COL(LOT_CHECKS, new_lot)))
        return false;
    uint16_t index = method_index(history, method);
    enum result_kind old = result_of(record_cell(check, COL(LOT_CHECKS, old_result))->text).kind;
    enum result_kind new = result_of(record_cell(check, COL(LOT_CHECKS, new_result))->text).kind;
    bool has_words = index == NO_METHOD || history->settings->methods[index].word_count > 0;
    return old == new && (old == RESULT_NUMBER || (old == RESULT_WORD && has_words));
}

/* Counted once: each run on the lot asks for it. */
static void count_specimens_checked(struct history *history)
{
    const struct shelf *shelf = &history->lot_checks;
    AUTO(names) specimens = names_new();
    uint64_t *seen_at = memory_new((shelf->count + 1) * sizeof *seen_at); /* by specimen: the first entry + 1 of the key
                                                                             at which it was seen last */
    history->specimens_checked = arena_take(history->arena, (shelf->count + 1) * sizeof *history->specimens_checked);
    size_t first = 0; /* of the entry's key */
    for (size_t i = 0; i < shelf->count; i++) {
        const struct shelf_entry *entry = &shelf->entries[i];
        if (entry->key != shelf->entries[first].key)
            first = i;
        uint32_t specimen = names_add(specimens, record_cell(entry->record, COL(LOT_CHECKS, specimen))->text);
        bool is_new = seen_at[specimen] != first + 1;
        history->specimens_checked[i] = (i > first ? history->specimens_checked[i - 1] : 0) + is_new;
        seen_at[specimen] = first + 1;
    }
    memory_free(seen_at);
}

static void put_lot_checks(struct history *history)
{
    for (size_t i = 0; i < history->record_count[KIND_LOT_CHECKS]; i++) {
        const struct record *record = &history->records[KIND_LOT_CHECKS][i];
        uint32_t method = record_name(record, COL(LOT_CHECKS, method));
        if (!method)
            method = history_method_of(history, record_name(record, COL(LOT_CHECKS, analyzer)),
                                       history_day(history, record->at));
        if (!is_comparison(history, record, method))
            continue;
        shelf_add(&history->lot_checks, map_key(record_name(record, COL(LOT_CHECKS, new_lot)), method, 0, 0, 0),
                  record->at, record);
    }
    shelf_sort(&history->lot_checks);
    count_specimens_checked(history);
}

static void put_on_shelves(struct history *history)
{
    static const struct {
        enum kind_id kind;
        size_t shelf;
        int key, second_key; /* columns; -1: none */
    } rows[] = {
        {KIND_OPERATORS, offsetof(struct history, operators), COL(OPERATORS, operator), -1},
        {KIND_ANALYZERS, offsetof(struct history, analyzers), COL(ANALYZERS, analyzer), COL(ANALYZERS, method)},
        {KIND_ANALYZERS, offsetof(struct history, analyzer_rows), COL(ANALYZERS, analyzer), -1},
        {KIND_OPENINGS, offsetof(struct history, openings), COL(OPENINGS, lot), -1},
        {KIND_CODES, offsetof(struct history, codes), COL(CODES, analyzer), -1},
        {KIND_CLEANING, offsetof(struct history, cleaning), COL(CLEANING, analyzer), COL(CLEANING, task)},
        {KIND_TRAINING, offsetof(struct history, training), COL(TRAINING, operator), COL(TRAINING, method)},
    };
    for (size_t r = 0; r < sizeof rows / sizeof *rows; r++) {
        struct shelf *shelf = (struct shelf *)(void *)((char *)history + rows[r].shelf);
        for (size_t i = 0; i < history->record_count[rows[r].kind]; i++) {
            const struct record *record = &history->records[rows[r].kind][i];
            shelf_add(shelf, key_of(record, rows[r].key, rows[r].second_key), record->at, record);
        }
        shelf_sort(shelf);
    }
    put_lots(history);
    put_maintenance(history);
    put_lot_checks(history);
}

bool history_convert(const struct method_settings *method, struct text unit, double number, double *out)
{
    if (!method || !unit.data)
        return false;
    for (size_t i = 0; i < method->also_unit_count; i++) {
        double converted;
        if (!text_equal(method->also_units[i], unit) || !unit_convert(unit, method->unit, number, &converted))
            continue;
        char digits[40];
        snprintf(digits, sizeof digits, "%.9e", converted);
        *out = strtod(digits, NULL);
        return true;
    }
    return false;
}

/* What a run needs of the other records: its method, and its number in the method's unit. */
static void complete_run(struct history *history, struct run *run)
{
    if (!run->method)
        run->method = history_method_of(history, run->analyzer, history_day(history, run->at));
    run->method_index = method_index(history, run->method);
    const struct method_settings *method = run_method(history, run);
    if (!method || !run->unit || run->unit == history->method_names[run->method_index].unit)
        return;
    run->other_unit = true;
    if (run->result_kind != RESULT_WORD) /* the N of <N and >N, too */
        run->converted = history_convert(method, names_text(history->names, run->unit), run->number, &run->number);
}

void history_ready(struct history *history)
{
    rank_paths(history);
    name_methods(history);
    sort_records(history);
    put_on_shelves(history);
    for (size_t i = 0; i < history->run_count; i++)
        complete_run(history, &history->runs[i]);
    for (size_t i = 0; i < history->control_count; i++)
        complete_run(history, &history->controls[i]);
    history_order_runs(history);
    history_judge_controls(history);
}
