/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/concern.h"

const struct kept_file *concern_file(struct concern *concern, uint32_t file_name)
{
    if (file_name != concern->last_name) {
        const uint64_t *place = map_find(concern->places, map_key(file_name, 0, 0, 0, 0));
        concern->last_name = file_name;
        concern->last_file = place != NULL ? &concern->gathering->lists->files[*place - 1] : NULL;
    }
    return concern->last_file;
}

static struct value value_of(const struct column *column, sqlite3_value *from)
{
    struct value value = {.present = sqlite3_value_type(from) != SQLITE_NULL};
    if (value.present && column_is_text(column)) {
        value.text.data = (const char *)sqlite3_value_text(from);
        value.text.size = (size_t)sqlite3_value_bytes(from);
    } else if (value.present) {
        value.whole = sqlite3_value_int64(from);
    }
    return value;
}

/* `values` are those of the key's columns, in their order. */
static bool is_gathered(const struct concern *concern, int count, sqlite3_value **values)
{
    const struct gathering *gathering = concern->gathering;
    const struct record_kind *kind = gathering->layout->kind;
    struct cell cells[COLUMNS_MOST];
    int at = 0;
    for (size_t i = 0; i < kind->column_count && at < count; i++)
        if (kind->columns[i].flags & COLUMN_KEY) {
            struct value value = value_of(&kind->columns[i], values[at++]);
            cells[i] = value_cell(&kind->columns[i], gathering->store->names, value);
        }
    return gather_find(gathering, cells, concern->scratch) != NULL;
}

/* The functions of SQL: is_gathered(the columns of the key …) and is_unsettled(file). */
static void tell_gathered(sqlite3_context *context, int count, sqlite3_value **values)
{
    sqlite3_result_int(context, is_gathered(sqlite3_user_data(context), count, values));
}

static void tell_unsettled(sqlite3_context *context, int count, sqlite3_value **values)
{
    (void)count;
    const struct kept_file *file = concern_file(sqlite3_user_data(context), (uint32_t)sqlite3_value_int64(values[0]));
    sqlite3_result_int(context, file == NULL || !file_stands_unread(file));
}

bool concern_register(struct store *store, struct fault *fault)
{
    const int flags = SQLITE_UTF8 | SQLITE_DIRECTONLY;
    sqlite3 *handle = store->database.handle;
    store->concern = memory_new(sizeof *store->concern);
    if (sqlite3_create_function_v2(handle, "is_gathered", -1, flags, store->concern, tell_gathered, NULL, NULL,
                                   memory_free) != SQLITE_OK)
        return database_fault(&store->database, fault); /* it has been freed */
    if (sqlite3_create_function_v2(handle, "is_unsettled", 1, flags, store->concern, tell_unsettled, NULL, NULL,
                                   NULL) != SQLITE_OK)
        return database_fault(&store->database, fault);
    return true;
}

/* SQLite takes no more cells of a record than it needs to know: where all stands unread, those of the key. */
struct query *concern_query(const struct store *store, const struct layout *layout, struct fault *fault)
{
    const struct record_kind *kind = layout->kind;
    AUTO(output) rest = output_memory();
    char event[64];
    output_print(rest, "WHERE site = ?1 AND %s BETWEEN ?2 AND ?3 AND (?4 AND is_unsettled(file) OR is_gathered(",
                 layout_event(layout, event));
    bool first = true;
    for (size_t i = 0; i < kind->column_count; i++)
        if (kind->columns[i].flags & COLUMN_KEY) {
            output_print(rest, "%s\"%s\"", first ? "" : ", ", kind->columns[i].name);
            first = false;
        }
    output_print(rest, "))");
    return rows_query(store, layout, output_string(rest), fault);
}

/* Whether no file is parsed as a whole, refused or gone: then only a record with the key of a gathered row is
 * concerned.
 */
static bool all_stand_unread(const struct gathering *gathering)
{
    const struct record_kind *kind = gathering->layout->kind;
    bool all = !gathering->lacks_files;
    for (size_t i = 0; all && i < gathering->lists->count; i++)
        all = gathering->lists->files[i].kind != kind || file_stands_unread(&gathering->lists->files[i]);
    return all;
}

void concern_bind(const struct concern *concern, struct query *query)
{
    const struct gathering *gathering = concern->gathering;
    const struct record_kind *kind = gathering->layout->kind;
    bool by_key = all_stand_unread(gathering);
    int64_t from = INT64_MAX, to = INT64_MIN;
    for (size_t i = 0; i < gathering->count; i++) {
        int64_t at = gathering->rows[i].at;
        from = at < from ? at : from;
        to = at > to ? at : to;
    }
    /* Where the event is part of the key, it has that of the row too. */
    if (!by_key || kind->event_column < 0 || !(kind->columns[kind->event_column].flags & COLUMN_KEY))
        from = INT64_MIN, to = INT64_MAX;
    else if (gathering->count > 0)
        from--, to++; /* a time with and without seconds is the same; see calendar.h */
    query_bind(query, "iiii", gathering->lists->site, from, to, (int64_t)!by_key);
}
