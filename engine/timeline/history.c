/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "timeline/history.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "records/units.h"

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
        struct text tasks[64];
        size_t task_count = method->task_count < 64 ? method->task_count : 64;
        for (size_t t = 0; t < task_count; t++)
            tasks[t] = method->tasks[t].name;
        history->method_names[i] = (struct method_names){
            .method = names_find(history->names, method->method),
            .unit = names_find(history->names, method->unit),
            .also_units = find_names(history, method->also_units, method->also_unit_count),
            .levels = find_names(history, method->levels, method->level_count),
            .tasks = find_names(history, tasks, task_count),
        };
    }
}

struct history *history_new(const struct site_settings *settings, struct names *names, day_number as_of)
{
    struct history *history = memory_new(sizeof *history);
    history->arena = arena_new();
    history->settings = settings;
    history->names = names;
    history->as_of = as_of;
    history->path_ranks = map_new();
    return history;
}

void history_free(struct history *history)
{
    if (!history)
        return;
    struct shelf *shelves[] = {&history->operators,   &history->analyzers, &history->analyzer_rows, &history->lots,
                               &history->openings,    &history->codes,     &history->cleaning,      &history->training,
                               &history->maintenance, &history->lot_checks};
    for (size_t i = 0; i < sizeof shelves / sizeof *shelves; i++)
        shelf_clear(shelves[i]);
    for (size_t i = 0; i < KIND_COUNT; i++)
        memory_free(history->records[i]);
    memory_free(history->runs);
    memory_free(history->controls);
    memory_free(history->files);
    memory_free(history->refusals);
    memory_free(history->changes);
    map_free(history->path_ranks);
    arena_free(history->arena);
    memory_free(history);
}

/* ---- rows in ---- */

static bool after_as_of(const struct history *history, const struct record_kind *kind, const struct cell *cells)
{
    if (kind->event_column < 0)
        return false;
    const struct cell *event = &cells[kind->event_column];
    if (kind->columns[kind->event_column].type == CELL_DATE)
        return event->whole > history->as_of;
    return history_day(history, event->whole) > history->as_of;
}

static moment cell_moment(const struct cell *cell) { return cell->present ? cell->whole : MOMENT_ABSENT; }

static uint32_t cell_name(const struct cell *cell) { return cell->present ? (uint32_t)cell->whole : 0; }

/* The three texts of a run in one block. */
static void keep_words(struct history *history, struct run *run, struct text test, struct text specimen,
                       struct text result)
{
    char *words = arena_take(history->arena, test.size + specimen.size + result.size + 3), *at = words;
    const struct text parts[] = {test, specimen, result};
    size_t begins[3];
    for (size_t i = 0; i < 3; i++) {
        begins[i] = (size_t)(at - words);
        if (parts[i].size)
            memcpy(at, parts[i].data, parts[i].size);
        at += parts[i].size;
        *at++ = '\0';
    }
    run->words = words;
    run->specimen_at = (uint16_t)begins[1];
    run->result_at = (uint16_t)begins[2];
}

static void set_result(struct run *run, struct text text)
{
    struct result result = result_of(text);
    run->result_kind = (uint8_t)result.kind;
    run->number = result.number;
}

#define CELL(kind, column) (&cells[COL(kind, column)])

static void add_test(struct history *history, const struct stored_row *row)
{
    const struct cell *cells = row->cells;
    VECTOR_GROW(history->runs, history->run_count, history->run_capacity);
    struct run *run = &history->runs[history->run_count++];
    *run = (struct run){
        .at = CELL(TESTS, performed_at)->whole,
        .collected_at = cell_moment(CELL(TESTS, collected_at)),
        .reported_at = cell_moment(CELL(TESTS, reported_at)),
        .notified_at = cell_moment(CELL(TESTS, notified_at)),
        .recorded_at = cell_moment(CELL(TESTS, recorded_at)),
        .sequence = CELL(TESTS, sequence)->whole,
        .has_sequence = CELL(TESTS, sequence)->present,
        .analyzer = cell_name(CELL(TESTS, analyzer)),
        .method = cell_name(CELL(TESTS, method)),
        .operator_ = cell_name(CELL(TESTS, operator)),
        .lot = cell_name(CELL(TESTS, lot)),
        .code = cell_name(CELL(TESTS, code)),
        .unit = cell_name(CELL(TESTS, unit)),
        .noted = CELL(TESTS, note)->present,
        .file = row->file,
        .line = row->line,
    };
    set_result(run, CELL(TESTS, result)->text);
    keep_words(history, run, CELL(TESTS, test)->text, CELL(TESTS, specimen)->text, CELL(TESTS, result)->text);
}

static void add_control(struct history *history, const struct stored_row *row)
{
    const struct cell *cells = row->cells;
    VECTOR_GROW(history->controls, history->control_count, history->control_capacity);
    struct run *run = &history->controls[history->control_count++];
    const struct cell *accepted = CELL(CONTROLS, accepted);
    *run = (struct run){
        .at = CELL(CONTROLS, performed_at)->whole,
        .collected_at = MOMENT_ABSENT,
        .reported_at = MOMENT_ABSENT,
        .notified_at = MOMENT_ABSENT,
        .recorded_at = cell_moment(CELL(CONTROLS, recorded_at)),
        .sequence = CELL(CONTROLS, sequence)->whole,
        .has_sequence = CELL(CONTROLS, sequence)->present,
        .analyzer = cell_name(CELL(CONTROLS, analyzer)),
        .method = cell_name(CELL(CONTROLS, method)),
        .operator_ = cell_name(CELL(CONTROLS, operator)),
        .lot = cell_name(CELL(CONTROLS, lot)),
        .code = cell_name(CELL(CONTROLS, code)),
        .unit = cell_name(CELL(CONTROLS, unit)),
        .control_lot = cell_name(CELL(CONTROLS, control_lot)),
        .level = cell_name(CELL(CONTROLS, level)),
        .accepted = (uint8_t)(!accepted->present ? ACCEPTED_ABSENT
                              : accepted->whole  ? ACCEPTED_YES
                                                 : ACCEPTED_NO),
        .noted = CELL(CONTROLS, note)->present,
        .is_control = true,
        .file = row->file,
        .line = row->line,
    };
    set_result(run, CELL(CONTROLS, result)->text);
    keep_words(history, run, text_of(""), text_of(""), CELL(CONTROLS, result)->text);
}

/* A cell that says what came later than the record itself does not count before its day has come. */
static bool is_later_cell(const struct record_kind *kind, size_t column)
{
    static const char *const later[] = {"closed_on", "reviewed_on", "discarded_on", "left_on", "retired_on"};
    for (size_t i = 0; i < sizeof later / sizeof *later; i++)
        if (!strcmp(kind->columns[column].name, later[i]))
            return true;
    return false;
}

static moment event_of(const struct record_kind *kind, const struct cell *cells)
{
    if (kind->event_column < 0)
        return 0;
    moment at = cells[kind->event_column].whole;
    return kind->columns[kind->event_column].type == CELL_DATE ? shelf_midnight((day_number)at) : at;
}

static void add_record(struct history *history, const struct record_kind *kind, const struct stored_row *row)
{
    struct cell *cells = arena_take(history->arena, kind->column_count * sizeof *cells);
    for (size_t i = 0; i < kind->column_count; i++) {
        const struct column *column = &kind->columns[i];
        cells[i] = row->cells[i];
        if (cells[i].present && is_later_cell(kind, i) && cells[i].whole > history->as_of)
            cells[i] = (struct cell){0};
        if (!cells[i].present)
            continue;
        cells[i].text = column->type == CELL_ID && !(column->flags & COLUMN_PLENTIFUL)
                            ? names_text(history->names, (uint32_t)cells[i].whole)
                            : text_keep(history->arena, cells[i].text);
    }
    VECTOR_GROW(history->records[kind->id], history->record_count[kind->id], history->record_capacity[kind->id]);
    history->records[kind->id][history->record_count[kind->id]++] =
        (struct record){cells, event_of(kind, cells), row->file, row->line};
}

void history_row(struct history *history, const struct record_kind *kind, const struct stored_row *row)
{
    if (after_as_of(history, kind, row->cells))
        return;
    if (kind->id == KIND_TESTS)
        add_test(history, row);
    else if (kind->id == KIND_CONTROLS)
        add_control(history, row);
    else
        add_record(history, kind, row);
}

void history_file_row(struct history *history, const struct stored_file *file)
{
    VECTOR_GROW(history->files, history->file_count, history->file_capacity);
    history->files[history->file_count++] =
        (struct history_file){text_keep(history->arena, file->path), file->kind, file->rows,
                              file->refused.data ? text_keep(history->arena, file->refused) : (struct text){0}};
    if (file->kind)
        history->kept[file->kind->id] = true;
}

static struct text keep_present(struct history *history, struct text text)
{
    return text.data ? text_keep(history->arena, text) : text;
}

void history_refusal(struct history *history, const struct stored_refusal *refusal)
{
    VECTOR_GROW(history->refusals, history->refusal_count, history->refusal_capacity);
    struct stored_refusal *kept = &history->refusals[history->refusal_count++];
    *kept = *refusal;
    kept->path = keep_present(history, refusal->path);
    kept->column = keep_present(history, refusal->column);
    kept->value = keep_present(history, refusal->value);
    kept->reason = keep_present(history, refusal->reason);
}

void history_change(struct history *history, const struct stored_change *change)
{
    VECTOR_GROW(history->changes, history->change_count, history->change_capacity);
    struct stored_change *kept = &history->changes[history->change_count++];
    *kept = *change;
    kept->key = keep_present(history, change->key);
    kept->test = keep_present(history, change->test);
    kept->path = keep_present(history, change->path);
}

/* ---- making ready ---- */

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

static void put_lot_checks(struct history *history)
{
    for (size_t i = 0; i < history->record_count[KIND_LOT_CHECKS]; i++) {
        const struct record *record = &history->records[KIND_LOT_CHECKS][i];
        uint32_t method = record_name(record, COL(LOT_CHECKS, method));
        if (!method)
            method = history_method_of(history, record_name(record, COL(LOT_CHECKS, analyzer)),
                                       history_day(history, record->at));
        shelf_add(&history->lot_checks, map_key(record_name(record, COL(LOT_CHECKS, new_lot)), method, 0, 0, 0),
                  record->at, record);
    }
    shelf_sort(&history->lot_checks);
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
    run->method_index = NO_METHOD;
    for (size_t i = 0; run->method && i < history->settings->method_count; i++)
        if (history->method_names[i].method == run->method)
            run->method_index = (uint16_t)i;
    const struct method_settings *method = run_method(history, run);
    if (!method || !run->unit || run->unit == history->method_names[run->method_index].unit)
        return;
    run->other_unit = true;
    if (run->result_kind == RESULT_NUMBER)
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

/* ---- looking up ---- */

const struct method_settings *run_method(const struct history *history, const struct run *run)
{
    return run->method_index == NO_METHOD ? NULL : &history->settings->methods[run->method_index];
}

day_number history_day(const struct history *history, moment at)
{
    return moment_day(at, history->settings->day_starts_at);
}

struct text history_path(const struct history *history, uint32_t file) { return history->paths[file]; }

const struct record *history_lot(const struct history *history, uint32_t lot, uint32_t method, bool control,
                                 uint32_t level)
{
    struct shelf_range range = shelf_find(&history->lots, map_key(lot, method, control, level, 0));
    return range.first == range.end ? NULL : range.first->record;
}

uint32_t history_method_of(const struct history *history, uint32_t analyzer, day_number day)
{
    struct shelf_range range = shelf_find(&history->analyzer_rows, map_key(analyzer, 0, 0, 0, 0));
    uint32_t in_service = 0, any = 0;
    size_t in_service_count = 0;
    for (const struct shelf_entry *entry = range.first; entry < range.end; entry++) {
        day_number from = record_day(entry->record, COL(ANALYZERS, in_service_on));
        day_number to = record_day(entry->record, COL(ANALYZERS, retired_on));
        any = record_name(entry->record, COL(ANALYZERS, method));
        if (day < from || (to != DAY_ABSENT && day > to))
            continue;
        in_service = any;
        in_service_count++;
    }
    if (in_service_count == 1)
        return in_service;
    return range.end - range.first == 1 ? any : 0;
}

/* ---- from the store ---- */

struct row_context {
    struct history *history;
    const struct record_kind *kind;
};

static void take_row(void *context, const struct stored_row *row)
{
    struct row_context *rows = context;
    history_row(rows->history, rows->kind, row);
}

static void take_file(void *context, const struct stored_file *file) { history_file_row(context, file); }

static void take_refusal(void *context, const struct stored_refusal *refusal) { history_refusal(context, refusal); }

static void take_change(void *context, const struct stored_change *change) { history_change(context, change); }

/* Room for exactly the runs there are, so that large sites need no second copy while the array grows. */
static bool reserve_runs(struct history *history, struct store *store, struct fault *fault)
{
    uint64_t tests, controls;
    struct text site = history->settings->site;
    if (!store_count(store, site, kind_of(KIND_TESTS), &tests, fault))
        return false;
    if (!store_count(store, site, kind_of(KIND_CONTROLS), &controls, fault))
        return false;
    history->run_capacity = tests + controls + 1;
    history->runs = memory_resize(NULL, history->run_capacity, sizeof *history->runs);
    history->control_capacity = controls + 1;
    history->controls = memory_resize(NULL, history->control_capacity, sizeof *history->controls);
    return true;
}

bool history_read(struct history **out, struct store *store, const struct site_settings *settings, day_number as_of,
                  struct fault *fault)
{
    *out = NULL;
    AUTO(history) history = history_new(settings, store_names(store), as_of);
    struct text site = settings->site;
    if (!reserve_runs(history, store, fault))
        return false;
    for (int k = 0; k < KIND_COUNT; k++) {
        struct row_context context = {history, kind_of((enum kind_id)k)};
        if (!store_read(store, site, context.kind, take_row, &context, fault))
            return false;
    }
    if (!store_files(store, site, take_file, history, fault))
        return false;
    if (!store_refusals(store, site, take_refusal, history, fault))
        return false;
    if (!store_changes(store, site, take_change, history, fault))
        return false;
    history_ready(history);
    *out = history;
    history = NULL;
    return true;
}
