/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/feed.h"

#include <stdio.h>

/* The columns of `feed`: the places of a packed row, then these. */
enum { FEED_SITE = COLUMNS_MOST, FEED_N, FEED_FILE, FEED_LINE, FEED_LOAD };

struct feed_table {
    sqlite3_vtab base;
    const struct feed *feed;
};

struct feed_cursor {
    sqlite3_vtab_cursor base;
    const struct feed *feed;
    size_t at;
    struct row_view view;
    struct value values[COLUMNS_MOST]; /* of the row at hand */
};

static int feed_connect(sqlite3 *handle, void *feed, int count, const char *const *words, sqlite3_vtab **out,
                        char **error)
{
    (void)count, (void)words, (void)error;
    char sql[COLUMNS_MOST * 5 + 80], *at = sql;
    at += sprintf(at, "CREATE TABLE feed(");
    for (int place = 0; place < COLUMNS_MOST; place++)
        at += sprintf(at, "c%d, ", place);
    sprintf(at, "site, n, file, line, load)");
    int status = sqlite3_declare_vtab(handle, sql);
    if (status != SQLITE_OK)
        return status;
    struct feed_table *table = memory_new(sizeof *table);
    table->feed = feed;
    *out = &table->base;
    return SQLITE_OK;
}

static int feed_disconnect(sqlite3_vtab *table)
{
    memory_free(table);
    return SQLITE_OK;
}

/* There is one way to read it: all, from the first row to the last. */
static int feed_best_index(sqlite3_vtab *table, sqlite3_index_info *plan)
{
    (void)table;
    plan->estimatedCost = 1e6;
    return SQLITE_OK;
}

static int feed_open(sqlite3_vtab *table, sqlite3_vtab_cursor **out)
{
    struct feed_cursor *cursor = memory_new(sizeof *cursor);
    cursor->feed = ((struct feed_table *)table)->feed;
    *out = &cursor->base;
    return SQLITE_OK;
}

static int feed_close(sqlite3_vtab_cursor *cursor)
{
    memory_free(cursor);
    return SQLITE_OK;
}

static void unpack(struct feed_cursor *cursor)
{
    const struct feed *feed = cursor->feed;
    if (cursor->at >= feed->count)
        return;
    cursor->view = row_view(&feed->rows[cursor->at]);
    row_values(feed->layout, cursor->view.row, cursor->view.row + cursor->view.size, cursor->values);
}

static int feed_filter(sqlite3_vtab_cursor *base, int plan, const char *name, int count, sqlite3_value **values)
{
    (void)plan, (void)name, (void)count, (void)values;
    struct feed_cursor *cursor = (struct feed_cursor *)base;
    cursor->at = 0;
    unpack(cursor);
    return SQLITE_OK;
}

static int feed_next(sqlite3_vtab_cursor *base)
{
    struct feed_cursor *cursor = (struct feed_cursor *)base;
    cursor->at++;
    unpack(cursor);
    return SQLITE_OK;
}

static int feed_eof(sqlite3_vtab_cursor *base)
{
    const struct feed_cursor *cursor = (struct feed_cursor *)base;
    return cursor->at >= cursor->feed->count;
}

static int64_t own_value(const struct feed_cursor *cursor, int column)
{
    const struct feed *feed = cursor->feed;
    switch (column) {
    case FEED_SITE:
        return feed->lists->site;
    case FEED_N:
        return feed->rows[cursor->at].n;
    case FEED_FILE:
        return feed->lists->files[cursor->view.file].path_name;
    case FEED_LINE:
        return cursor->view.line;
    default:
        return feed->load;
    }
}

static int feed_column(sqlite3_vtab_cursor *base, sqlite3_context *context, int column)
{
    const struct feed_cursor *cursor = (struct feed_cursor *)base;
    if (column >= COLUMNS_MOST) {
        sqlite3_result_int64(context, own_value(cursor, column));
        return SQLITE_OK;
    }
    const struct value *value = &cursor->values[column];
    if (!value->present)
        sqlite3_result_null(context);
    else if (value->text.data != NULL)
        sqlite3_result_text64(context, value->text.data, value->text.size, SQLITE_STATIC, SQLITE_UTF8);
    else
        sqlite3_result_int64(context, value->whole);
    return SQLITE_OK;
}

static int feed_rowid(sqlite3_vtab_cursor *base, sqlite3_int64 *out)
{
    *out = (sqlite3_int64)((struct feed_cursor *)base)->at;
    return SQLITE_OK;
}

static const sqlite3_module feed_module = {
    .xConnect = feed_connect, /* no xCreate: the table is there by itself, under the module's name */
    .xBestIndex = feed_best_index,
    .xDisconnect = feed_disconnect,
    .xOpen = feed_open,
    .xClose = feed_close,
    .xFilter = feed_filter,
    .xNext = feed_next,
    .xEof = feed_eof,
    .xColumn = feed_column,
    .xRowid = feed_rowid,
};

bool feed_register(struct store *store, struct fault *fault)
{
    store->feed = memory_new(sizeof *store->feed);
    if (sqlite3_create_module_v2(store->database.handle, "feed", &feed_module, store->feed, memory_free) == SQLITE_OK)
        return true;
    return database_fault(&store->database, fault); /* the feed has been freed */
}
