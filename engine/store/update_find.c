/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>

#include "store/concern.h"
#include "store/shield.h"
#include "store/standing.h"

struct finding_out {
    struct gathering *gathering;
    struct update *update;
    struct concern concern;
    struct shield *shield;
    bool *must_parse;
    bool again;
    struct bytes scratch;
};

/* A record as the store has it. */
struct record {
    struct cell cells[COLUMNS_MOST];
    int64_t at, n, load;
    uint32_t file_name, line;
};

void update_free(struct update *update)
{
    arena_free(update->arena);
    memory_free(update->ended);
    memory_free(update->moved);
    *update = (struct update){0};
}

static void add_ended(struct update *update, struct ended_version version)
{
    VECTOR_GROW(update->ended, update->ended_count, update->ended_capacity);
    update->ended[update->ended_count++] = version;
}

static struct map *places_of_files(const struct lists *lists)
{
    struct map *places = map_new();
    for (size_t i = 0; i < lists->count; i++)
        *map_at(places, map_key(lists->files[i].path_name, 0, 0, 0, 0)) = i + 1;
    return places;
}

/* ---- a record that the store has ---- */

static void record_ends(struct finding_out *finding, struct query *query, const struct record *record,
                        const struct gathered_row *next)
{
    const struct layout *layout = finding->gathering->layout;
    struct bytes *packed = &finding->scratch;
    packed->size = 0;
    row_pack_sql(layout, query_statement(query), 0, packed);
    add_ended(finding->update,
              (struct ended_version){
                  .n = record->n,
                  .begun = record->load,
                  .at = record->at,
                  .followed = next != NULL,
                  .next = next != NULL ? next->at : 0,
                  .file = record->file_name,
                  .line = record->line,
                  .row = text_keep(finding->update->arena, (struct text){(const char *)packed->data, packed->size}),
              });
}

static void record_stands_at(struct finding_out *finding, const struct record *record, uint32_t file_name,
                             uint32_t line)
{
    struct update *update = finding->update;
    if (record->file_name == file_name && record->line == line)
        return;
    VECTOR_GROW(update->moved, update->moved_count, update->moved_capacity);
    update->moved[update->moved_count++] = (struct moved_record){record->at, record->n, file_name, line};
}

/* The same values may be written otherwise, 09:00 for 09:00:00 or 5.4 for 5.40: the log's newest spelling is kept as a
 * version of its own, which changed nothing. */
static bool row_spelled_same(const struct record_kind *kind, const struct cell *before, const struct cell *after)
{
    for (size_t i = 0; i < kind->column_count; i++) {
        enum cell_type type = kind->columns[i].type;
        if (!before[i].present)
            continue;
        if (type == CELL_TIME
                ? before[i].whole != after[i].whole
                : (type == CELL_NUMBER || type == CELL_RESULT) && !text_equal(before[i].text, after[i].text))
            return false;
    }
    return true;
}

static void record_has_row(struct finding_out *finding, struct query *query, const struct record *record,
                           struct gathered_row *row)
{
    const struct record_kind *kind = finding->gathering->layout->kind;
    struct row_view view = row_view(row);
    struct cell cells[COLUMNS_MOST];
    gather_cells(finding->gathering, row, cells);
    bool same = row_same(kind, record->cells, cells);
    if (row->state == ROW_CONFLICTS || (same && row_spelled_same(kind, record->cells, cells))) {
        record_stands_at(finding, record, finding->gathering->lists->files[view.file].path_name, view.line);
        if (row->state == ROW_STANDS)
            row->state = ROW_KNOWN;
        return;
    }
    if (row_amends(kind, record->cells, cells))
        finding->update->amended++;
    else if (!same)
        finding->update->filled++;
    row->n = (uint32_t)record->n;
    record_ends(finding, query, record, row);
}

static void record_without_row(struct finding_out *finding, struct query *query, const struct record *record,
                               const struct kept_file *file)
{
    struct shield_place place;
    if (file != NULL && (file_stands_unread(file) || file->refused.data != NULL))
        return; /* it stands there as before, or nobody can tell: the file as a whole cannot be read */
    if (shield_find(finding->shield, record->file_name, record->line, record->cells, &place)) {
        record_stands_at(finding, record, place.file_name, place.line);
        return;
    }
    finding->update->withdrawn++;
    record_ends(finding, query, record, NULL);
}

static void take_record(struct finding_out *finding, struct query *query, const struct record *record)
{
    const struct kept_file *file = concern_file(&finding->concern, record->file_name);
    struct gathered_row *row = gather_find(finding->gathering, record->cells, &finding->scratch);
    if (row != NULL && file != NULL && file_stands_unread(file))
        finding->must_parse[file - finding->gathering->lists->files] = finding->again = true;
    if (finding->again)
        return;
    if (row != NULL)
        record_has_row(finding, query, record, row);
    else
        record_without_row(finding, query, record, file);
}

static void read_record(const struct layout *layout, const struct names *names, struct query *query,
                        struct record *record)
{
    const int first = layout->count, event = layout->kind->event_column;
    row_cells_sql(layout, names, query_statement(query), 0, record->cells);
    record->at = event >= 0 ? query_whole(query, layout->place_of[event]) : 0;
    record->n = query_whole(query, first);
    record->file_name = (uint32_t)query_whole(query, first + 1);
    record->line = (uint32_t)query_whole(query, first + 2);
    record->load = query_whole(query, first + 3);
}

static bool take_records(struct finding_out *finding, struct update_queries *queries, struct fault *fault)
{
    const struct gathering *gathering = finding->gathering;
    struct query **query = &queries->kinds[gathering->layout->kind->id].records;
    if (*query == NULL)
        *query = concern_query(gathering->store, gathering->layout, fault);
    if (*query == NULL)
        return false;
    concern_bind(&finding->concern, *query);
    *gathering->store->concern = finding->concern;
    enum query_step step;
    while ((step = query_step(*query, fault)) == QUERY_ROW) {
        struct record record;
        read_record(gathering->layout, gathering->store->names, *query, &record);
        take_record(finding, *query, &record);
    }
    query_bind(*query, "");
    *gathering->store->concern = (struct concern){0};
    return step == QUERY_END;
}

/* The latest event of the records that the store has; 0 for kinds without one. */
static bool find_latest(struct finding_out *finding, struct update_queries *queries, struct fault *fault)
{
    const struct layout *layout = finding->gathering->layout;
    struct query **latest = &queries->kinds[layout->kind->id].latest;
    char event[64], sql[200];
    if (finding->update->records == 0 || layout->kind->event_column < 0)
        return true;
    snprintf(sql, sizeof sql, "SELECT max(%s) FROM \"%s\" WHERE site = ?", layout_event(layout, event),
             layout->kind->name);
    if (*latest == NULL)
        *latest = query_new(&finding->gathering->store->database, fault, sql);
    if (*latest == NULL)
        return false;
    query_bind(*latest, "i", finding->gathering->lists->site);
    enum query_step step = query_step(*latest, fault);
    if (step == QUERY_ROW)
        finding->update->latest = query_whole(*latest, 0);
    query_bind(*latest, "");
    return step != QUERY_FAILED;
}

/* ---- a record that was withdrawn ---- */

/* The last version of a record in the history. */
struct last_version {
    int64_t n, ended;
    bool withdrawn;
    struct bytes row;
};

static void return_if_there(struct finding_out *finding, const struct last_version *last)
{
    const struct gathering *gathering = finding->gathering;
    struct value values[COLUMNS_MOST];
    struct cell before[COLUMNS_MOST], after[COLUMNS_MOST];
    if (!last->withdrawn ||
        row_values(gathering->layout, last->row.data, last->row.data + last->row.size, values) == NULL)
        return;
    row_cells(gathering->layout, gathering->store->names, values, before);
    struct gathered_row *row = gather_find(gathering, before, &finding->scratch);
    if (row == NULL || row->state != ROW_STANDS || row->n != 0)
        return;
    gather_cells(gathering, row, after);
    if (row_amends(gathering->layout->kind, before, after))
        finding->update->amended++;
    else
        finding->update->added++;
    row->n = (uint32_t)last->n;
    add_ended(
        finding->update,
        (struct ended_version){.n = last->n, .begun = last->ended, .at = row->at, .followed = true, .next = row->at});
}

static void read_last(struct query *query, struct last_version *last)
{
    struct text row = query_blob(query, 3);
    last->n = query_whole(query, 0);
    last->ended = query_whole(query, 1);
    last->withdrawn = query_null(query, 2);
    last->row.size = 0;
    if (row.size > 0)
        memcpy(bytes_room(&last->row, row.size), row.data, row.size);
    last->row.size = row.size;
}

static bool take_withdrawn(struct finding_out *finding, struct update_queries *queries, struct fault *fault)
{
    const struct gathering *gathering = finding->gathering;
    if (queries->history == NULL)
        queries->history =
            query_new(&gathering->store->database, fault,
                      "SELECT n, ended, next, row FROM history WHERE site = ? AND kind = ? ORDER BY n, begun");
    struct query *query = queries->history;
    if (query == NULL)
        return false;
    query_bind(query, "ii", gathering->lists->site, (int64_t)gathering->layout->kind_name);
    struct last_version last = {0};
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW) {
        if (query_whole(query, 0) != last.n)
            return_if_there(finding, &last);
        read_last(query, &last);
        if (last.n > finding->update->last_n)
            finding->update->last_n = last.n;
    }
    return_if_there(finding, &last);
    bytes_free(&last.row);
    query_bind(query, "");
    return step == QUERY_END;
}

/* ---- all ---- */

/* A key that stood twice among rows that were not parsed was refused there; if it stands in a parsed row too, all of
 * its rows are to be looked at. */
static void look_at_conflicts(struct finding_out *finding)
{
    struct gathering *gathering = finding->gathering;
    for (size_t i = 0; i < gathering->lists->count; i++) {
        const struct kept_file *file = &gathering->lists->files[i];
        for (size_t j = 0; j < file->refusal_count && !file->is_parsed_whole && file->kind == gathering->layout->kind;
             j++) {
            const struct text packed = file->refusals[j].cells;
            const unsigned char *row = (const unsigned char *)packed.data;
            struct value values[COLUMNS_MOST];
            struct cell cells[COLUMNS_MOST];
            if (file->refusals[j].nature != REFUSAL_CONFLICT || row == NULL ||
                row_values(gathering->layout, row, row + packed.size, values) == NULL)
                continue;
            row_cells(gathering->layout, gathering->store->names, values, cells);
            if (gather_find(gathering, cells, &finding->scratch) != NULL)
                finding->must_parse[i] = finding->again = true;
        }
    }
}

bool update_find(struct gathering *gathering, struct update_queries *queries, struct update *out, bool *must_parse,
                 bool *again, struct fault *fault)
{
    *out = (struct update){.arena = arena_new()};
    struct finding_out finding = {.gathering = gathering, .update = out, .must_parse = must_parse};
    struct map *places = places_of_files(gathering->lists);
    finding.concern = (struct concern){.gathering = gathering, .places = places, .scratch = &gathering->scratch};
    finding.shield = shield_new(gathering->store, gathering->layout, gathering->lists);
    look_at_conflicts(&finding);
    bool done = standing_count(gathering, queries, out, fault) && find_latest(&finding, queries, fault) &&
                take_records(&finding, queries, fault) && (finding.again || take_withdrawn(&finding, queries, fault));
    *again = finding.again;
    map_free(places);
    shield_free(finding.shield);
    bytes_free(&finding.scratch);
    return done;
}
