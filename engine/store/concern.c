/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/concern.h"

const struct kept_file *concern_file(const struct concern *concern, uint32_t file_name)
{
    const uint64_t *place = map_find(concern->places, map_key(file_name, 0, 0, 0, 0));
    return place != NULL ? &concern->gathering->lists->files[*place - 1] : NULL;
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
    const struct concern *concern = sqlite3_user_data(context);
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
    output_print(rest, "WHERE site = ? AND is_concerned(file");
    for (size_t i = 0; i < kind->column_count; i++)
        if (kind->columns[i].flags & COLUMN_KEY)
            output_print(rest, ", \"%s\"", kind->columns[i].name);
    output_print(rest, ")");
    return rows_query(store, layout, output_string(rest), fault);
}
