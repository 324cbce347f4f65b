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

/* is_concerned(file, the columns of the key …) */
static void is_concerned(sqlite3_context *context, int count, sqlite3_value **values)
{
    struct concern *concern = sqlite3_user_data(context);
    const struct kept_file *file = concern_file(concern, (uint32_t)sqlite3_value_int64(values[0]));
    bool stands_unread = file != NULL && file_stands_unread(file);
    sqlite3_result_int(context, !stands_unread || is_gathered(concern, count - 1, values + 1));
}

bool concern_register(struct store *store, struct fault *fault)
{
    store->concern = memory_new(sizeof *store->concern);
    if (sqlite3_create_function_v2(store->database.handle, "is_concerned", -1, SQLITE_UTF8 | SQLITE_DIRECTONLY,
                                   store->concern, is_concerned, NULL, NULL, memory_free) == SQLITE_OK)
        return true;
    return database_fault(&store->database, fault); /* it has been freed */
}

struct query *concern_query(const struct store *store, const struct layout *layout, struct fault *fault)
{
    const struct record_kind *kind = layout->kind;
    AUTO(output) rest = output_memory();
    char event[64];
    output_print(rest, "WHERE site = ?1 AND %s BETWEEN ?2 AND ?3 AND is_concerned(file", layout_event(layout, event));
    for (size_t i = 0; i < kind->column_count; i++)
        if (kind->columns[i].flags & COLUMN_KEY)
            output_print(rest, ", \"%s\"", kind->columns[i].name);
    output_print(rest, ")");
    return rows_query(store, layout, output_string(rest), fault);
}

/* Whether only a record with the key of a gathered row can be concerned, and that has its event: the event is part of
 * the key, and no file is parsed as a whole, refused or gone. */
static bool is_known_by_event(const struct gathering *gathering)
{
    const struct record_kind *kind = gathering->layout->kind;
    bool known = kind->event_column >= 0 && (kind->columns[kind->event_column].flags & COLUMN_KEY) != 0 &&
                 !gathering->lacks_files;
    for (size_t i = 0; known && i < gathering->lists->count; i++)
        known = gathering->lists->files[i].kind != kind || file_stands_unread(&gathering->lists->files[i]);
    return known;
}

void concern_bind(const struct concern *concern, struct query *query)
{
    const struct gathering *gathering = concern->gathering;
    int64_t from = INT64_MAX, to = INT64_MIN;
    for (size_t i = 0; i < gathering->count; i++) {
        int64_t at = gathering->rows[i].at;
        from = at < from ? at : from;
        to = at > to ? at : to;
    }
    if (!is_known_by_event(gathering))
        from = INT64_MIN, to = INT64_MAX;
    else if (gathering->count > 0)
        from--, to++; /* a time with and without seconds is the same; see calendar.h */
    query_bind(query, "iii", gathering->lists->site, from, to);
}
