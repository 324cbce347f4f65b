/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "timeline/history.h"

#include <string.h>

#include "base/utf8.h"

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
        .noted = utf8_can_be_read(CELL(TESTS, note)->text),
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
        .noted = utf8_can_be_read(CELL(CONTROLS, note)->text),
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

/* ---- looking up ---- */

const struct method_settings *run_method(const struct history *history, const struct run *run)
{
    return run->method_index == NO_METHOD ? NULL : &history->settings->methods[run->method_index];
}

day_number history_day(const struct history *history, moment at)
{
    return moment_day(at, history->settings->day_starts_at);
}

size_t history_rows(const struct history *history)
{
    size_t rows = history->run_count + history->refusal_count + history->change_count;
    for (size_t kind = 0; kind < KIND_COUNT; kind++)
        rows += history->record_count[kind];
    return rows;
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
    if (!store_changes(store, site, take_change, history, fault) || !store_stayed(store, fault))
        return false;
    history_ready(history);
    *out = history;
    history = NULL;
    return true;
}
