/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether the tables are still as schema.c made them. A table that was defined anew, or something that hangs on one,
 * can drop or change rows that are written later, while all that it held before is whole. */
#include <stdio.h>

#include "store/inside.h"

/* But for what SQLite's ANALYZE leaves. */
static struct query *definitions(const struct database *database, struct fault *fault)
{
    return query_new(database, fault,
                     "SELECT name, type, sql FROM sqlite_schema WHERE NOT (type = 'table' AND name IN"
                     " ('sqlite_stat1', 'sqlite_stat2', 'sqlite_stat3', 'sqlite_stat4')) ORDER BY name, type");
}

/* Both stand on rows of the same name. */
static bool are_same(struct query *stored, struct query *expected)
{
    return text_equal(query_text(stored, 1), query_text(expected, 1)) &&
           text_equal(query_text(stored, 2), query_text(expected, 2));
}

/* Of the rows that the two stand on, of which one may be at its end. */
static void compare_rows(struct query *stored, struct query *expected, char what[DEFINITION_CHANGE_SIZE])
{
    int order = !stored ? 1 : !expected ? -1 : text_compare(query_text(stored, 0), query_text(expected, 0));
    if (order < 0)
        snprintf(what, DEFINITION_CHANGE_SIZE, "the file holds '%.*s', which assize did not make",
                 TEXT_FORMAT(query_text(stored, 0)));
    else if (order > 0)
        snprintf(what, DEFINITION_CHANGE_SIZE, "the table %.*s is missing", TEXT_FORMAT(query_text(expected, 0)));
    else if (!are_same(stored, expected))
        snprintf(what, DEFINITION_CHANGE_SIZE, "the definition of %.*s was changed",
                 TEXT_FORMAT(query_text(stored, 0)));
}

static bool compare_all(struct query *stored, struct query *expected, char what[DEFINITION_CHANGE_SIZE],
                        struct fault *fault)
{
    enum query_step left, right;
    do {
        left = query_step(stored, fault);
        right = query_step(expected, fault);
        if (left == QUERY_FAILED || right == QUERY_FAILED)
            return false;
        if (left == QUERY_ROW || right == QUERY_ROW)
            compare_rows(left == QUERY_ROW ? stored : NULL, right == QUERY_ROW ? expected : NULL, what);
    } while (*what == '\0' && left == QUERY_ROW && right == QUERY_ROW);
    return true;
}

bool definitions_compare(const struct store *store, char what[DEFINITION_CHANGE_SIZE], struct fault *fault)
{
    struct database database;
    *what = '\0';
    bool done = schema_expect(store, &database, fault);
    struct query *stored = done ? definitions(&store->database, fault) : NULL;
    struct query *expected = done ? definitions(&database, fault) : NULL;
    done = stored != NULL && expected != NULL && compare_all(stored, expected, what, fault);
    query_free(stored);
    query_free(expected);
    database_close(&database);
    return done;
}

/* ---- the types of values ---- */

/* Tells whether a table holds a value that is not of its column's type; the names are those that assize gave. */
static struct output *query_of_types(const struct database *database, struct text table, struct fault *fault)
{
    AUTO(query) columns = query_new(database, fault, "SELECT name, lower(type) FROM pragma_table_info(?)");
    AUTO(output) sql = output_memory();
    enum query_step step = QUERY_FAILED;
    output_print(sql, "SELECT EXISTS(SELECT 1 FROM \"%.*s\" WHERE 0", TEXT_FORMAT(table));
    if (columns != NULL)
        query_bind(columns, "t", table);
    while (columns != NULL && (step = query_step(columns, fault)) == QUERY_ROW)
        output_print(sql, " OR typeof(\"%.*s\") NOT IN ('null', '%.*s')", TEXT_FORMAT(query_text(columns, 0)),
                     TEXT_FORMAT(query_text(columns, 1)));
    output_print(sql, ")");
    struct output *done = step == QUERY_END ? sql : NULL;
    if (done != NULL)
        sql = NULL;
    return done;
}

bool definitions_values(const struct store *store, char what[DEFINITION_CHANGE_SIZE], struct fault *fault)
{
    const struct database *database = &store->database;
    AUTO(query)
    tables = query_new(database, fault,
                       "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"
                       " ORDER BY name");
    enum query_step step = QUERY_FAILED;
    *what = '\0';
    while (tables != NULL && *what == '\0' && (step = query_step(tables, fault)) == QUERY_ROW) {
        struct text table = query_text(tables, 0);
        int64_t any = 0;
        AUTO(output) sql = query_of_types(database, table, fault);
        if (sql == NULL || !sql_whole(database, output_string(sql), &any, fault))
            return false;
        if (any)
            snprintf(what, DEFINITION_CHANGE_SIZE, "the table %.*s holds a value of another type than its column's",
                     TEXT_FORMAT(table));
    }
    return step != QUERY_FAILED;
}
