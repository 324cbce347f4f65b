/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What loads changed afterwards, told from the versions themselves: nothing of it is written down a second time. */
#include <stdio.h>
#include <stdlib.h>

#include "base/utf8.h"
#include "store/inside.h"

/* A record with a past, while its versions are read in their order. */
struct past {
    const struct layout *layout;
    int64_t n;
    int64_t last_ended; /* load */
    bool followed;      /* by the current version, whose event is `next` */
    int64_t next;
    struct bytes row;   /* of the last version that is no gap, packed */
    int64_t file, line; /* of it */
    int64_t amended;    /* the load of the latest amendment; 0: none */
    struct text note;   /* that the record had before it, in the texts of the arena */
};

struct changes {
    struct store *store;
    int64_t site;
    struct arena *arena;
    struct stored_change *items;
    size_t count, capacity;
    struct past past;
    struct bytes scratch;
    struct fault *fault;
};

bool store_past_cells(const struct store *store, const struct layout *layout, struct text row, struct cell *cells)
{
    struct value values[COLUMNS_MOST];
    const unsigned char *packed = (const unsigned char *)row.data;
    if (packed == NULL || row_values(layout, packed, packed + row.size, values) == NULL)
        return false;
    row_cells(layout, store->names, values, cells);
    return true;
}

static bool day_of_load(struct changes *changes, int64_t load, day_number *out)
{
    AUTO(query) query = query_new(&changes->store->database, changes->fault, "SELECT day FROM loads WHERE load = ?");
    if (query == NULL)
        return false;
    query_bind(query, "i", load);
    enum query_step step = query_step(query, changes->fault);
    *out = step == QUERY_ROW ? (day_number)query_whole(query, 0) : DAY_ABSENT;
    return step != QUERY_FAILED;
}

/* ---- one record ---- */

/* The newest version of the record and where it stands, in the texts of the arena. */
static bool add_change(struct changes *changes, const struct cell *newest, int64_t file, int64_t line, bool withdrawn,
                       int64_t load)
{
    const struct record_kind *kind = changes->past.layout->kind;
    const struct cell *note = &newest[kind->column_count - 1];
    bool noted = note->present && utf8_can_be_read(note->text) &&
                 (withdrawn || !utf8_reads_same(note->text, changes->past.note));
    struct stored_change change = {
        .kind = kind,
        .withdrawn = withdrawn,
        .at = row_moment(kind, newest),
        .noted = noted,
        .path = store_name(changes->store, file),
        .line = (uint32_t)line,
    };
    struct bytes *key = &changes->scratch;
    key->size = 0;
    row_key_text(kind, newest, key);
    change.key = text_print(changes->arena, "%s %.*s", kind->name, (int)key->size, (const char *)key->data);
    if (kind->id == KIND_TESTS)
        change.test = text_keep(changes->arena, newest[COL(TESTS, test)].text);
    if (!day_of_load(changes, load, &change.loaded_on))
        return false;
    VECTOR_GROW(changes->items, changes->count, changes->capacity);
    changes->items[changes->count++] = change;
    return true;
}

/* The record's current version, as one row of a query; NULL on a fault. */
static struct query *current_version(struct changes *changes)
{
    const struct past *past = &changes->past;
    char event[64], rest[160];
    snprintf(rest, sizeof rest, "WHERE site = ? AND %s = ? AND n = ?", layout_event(past->layout, event));
    struct query *query = rows_query(changes->store, past->layout, rest, changes->fault);
    if (query != NULL)
        query_bind(query, "iii", changes->site, past->next, past->n);
    return query;
}

/* A note that was there before the change does not say why it was made. */
static void look_at_amendment(struct changes *changes, const struct cell *before, const struct cell *after,
                              int64_t load)
{
    struct past *past = &changes->past;
    const struct cell *note = &before[past->layout->kind->column_count - 1];
    if (!row_amends(past->layout->kind, before, after))
        return;
    past->amended = load;
    past->note = note->present ? text_keep(changes->arena, note->text) : (struct text){0};
}

static bool end_with_current(struct changes *changes)
{
    struct past *past = &changes->past;
    AUTO(query) query = current_version(changes);
    if (query == NULL)
        return false;
    enum query_step step = query_step(query, changes->fault);
    if (step != QUERY_ROW)
        return step == QUERY_END; /* an edited store: store_verify tells it */
    struct cell before[COLUMNS_MOST], now[COLUMNS_MOST];
    row_cells_sql(past->layout, changes->store->names, query_statement(query), 0, now);
    if (store_past_cells(changes->store, past->layout, (struct text){(const char *)past->row.data, past->row.size},
                         before))
        look_at_amendment(changes, before, now, past->last_ended);
    if (past->amended == 0)
        return true;
    return add_change(changes, now, query_whole(query, past->layout->count + 1),
                      query_whole(query, past->layout->count + 2), false, past->amended);
}

static bool end_withdrawn(struct changes *changes)
{
    struct past *past = &changes->past;
    struct cell last[COLUMNS_MOST];
    if (!store_past_cells(changes->store, past->layout, (struct text){(const char *)past->row.data, past->row.size},
                          last))
        return true;
    if (past->amended != 0 && !add_change(changes, last, past->file, past->line, false, past->amended))
        return false;
    return add_change(changes, last, past->file, past->line, true, past->last_ended);
}

static bool end_record(struct changes *changes)
{
    if (changes->past.layout == NULL)
        return true;
    return changes->past.followed ? end_with_current(changes) : end_withdrawn(changes);
}

/* ---- all ---- */

static void take_version(struct changes *changes, struct query *query)
{
    struct past *past = &changes->past;
    struct text row = query_blob(query, 7);
    struct cell before[COLUMNS_MOST], after[COLUMNS_MOST];
    bool has_before = store_past_cells(changes->store, past->layout,
                                       (struct text){(const char *)past->row.data, past->row.size}, before);
    if (has_before && store_past_cells(changes->store, past->layout, row, after))
        look_at_amendment(changes, before, after, query_whole(query, 2));
    past->last_ended = query_whole(query, 3);
    past->followed = !query_null(query, 4);
    past->next = query_whole(query, 4);
    if (row.data == NULL)
        return;
    past->file = query_whole(query, 5);
    past->line = query_whole(query, 6);
    past->row.size = 0;
    memcpy(bytes_room(&past->row, row.size), row.data, row.size);
    past->row.size = row.size;
}

static void start_record(struct changes *changes, const struct layout *layout, int64_t n)
{
    struct bytes row = changes->past.row;
    row.size = 0;
    changes->past = (struct past){.layout = layout, .n = n, .row = row};
}

static bool read_history(struct changes *changes)
{
    AUTO(query)
    query = query_new(&changes->store->database, changes->fault,
                      "SELECT kind, n, begun, ended, next, file, line, row FROM history WHERE site = ?"
                      " ORDER BY kind, n, begun");
    if (query == NULL)
        return false;
    query_bind(query, "i", changes->site);
    enum query_step step;
    while ((step = query_step(query, changes->fault)) == QUERY_ROW) {
        const struct layout *layout = store_layout_named(changes->store, query_whole(query, 0));
        if (layout == NULL)
            continue;
        if (layout != changes->past.layout || query_whole(query, 1) != changes->past.n) {
            if (!end_record(changes))
                return false;
            start_record(changes, layout, query_whole(query, 1));
        }
        take_version(changes, query);
    }
    return step == QUERY_END && end_record(changes);
}

static int compare_changes(const void *left, const void *right)
{
    const struct stored_change *a = left, *b = right;
    if (a->kind->id != b->kind->id)
        return a->kind->id < b->kind->id ? -1 : 1;
    int order = text_compare(a->key, b->key);
    return order != 0 ? order : (int)a->withdrawn - (int)b->withdrawn;
}

bool store_changes(struct store *store, struct text site, stored_change_function *function, void *context,
                   struct fault *fault)
{
    struct changes changes = {.store = store, .site = names_find(store->names, site), .fault = fault};
    changes.arena = arena_new();
    bool done = read_history(&changes);
    if (done && changes.count > 0)
        qsort(changes.items, changes.count, sizeof *changes.items, compare_changes);
    for (size_t i = 0; done && i < changes.count; i++)
        function(context, &changes.items[i]);
    memory_free(changes.items);
    bytes_free(&changes.past.row);
    bytes_free(&changes.scratch);
    arena_free(changes.arena);
    return done;
}
