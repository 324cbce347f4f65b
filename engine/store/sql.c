/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/sql.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { BUSY_MILLISECONDS = 2000 };

/* ---- connections ---- */

/* The file may come from anyone: no schema tricks, no writing of shadow pages, no strings in double quotes. */
static void database_harden(sqlite3 *handle)
{
    sqlite3_db_config(handle, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_DQS_DML, 0, NULL);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_DQS_DDL, 0, NULL);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, NULL);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_ENABLE_VIEW, 0, NULL);
    sqlite3_extended_result_codes(handle, 1);
    sqlite3_busy_timeout(handle, BUSY_MILLISECONDS);
}

/* A path that begins with "file:" is a path all the same. Some systems' SQLite takes it for the name of another file,
 * with options, whatever the flags say. */
static char *plain_path(const char *path)
{
    char *plain = memory_new(strlen(path) + sizeof "./");
    sprintf(plain, "%s%s", strncmp(path, "file:", 5) == 0 ? "./" : "", path);
    return plain;
}

static bool open_named(struct database *database, const char *path, const char *name, int flags, struct fault *fault)
{
    database->path = memory_copy_string(path);
    if (sqlite3_open_v2(name, &database->handle, flags | SQLITE_OPEN_NOMUTEX, NULL) != SQLITE_OK) {
        database_fault(database, fault);
        return false;
    }
    database_harden(database->handle);
    return sql_run(database, "PRAGMA cell_size_check = ON; PRAGMA temp_store = FILE", fault);
}

bool database_open(struct database *database, const char *path, int flags, struct fault *fault)
{
    char *name = plain_path(path);
    bool done = open_named(database, path, name, flags, fault);
    memory_free(name);
    return done;
}

/* Every byte as %2F, so that none means anything else in an address. */
bool database_open_alone(struct database *database, const char *path, struct fault *fault)
{
    size_t size = strlen(path);
    char *name = memory_new(3 * size + sizeof "file:?immutable=1"), *end = name + sprintf(name, "file:");
    for (size_t i = 0; i < size; i++)
        end += sprintf(end, "%%%02X", (unsigned char)path[i]);
    sprintf(end, "?immutable=1");
    bool done = open_named(database, path, name, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, fault);
    memory_free(name);
    return done;
}

void database_close(struct database *database)
{
    sqlite3_close(database->handle);
    memory_free(database->path);
    *database = (struct database){0};
}

bool database_is_cut_off(const struct database *database)
{
    sqlite3_exec(database->handle, "SELECT 1 FROM sqlite_schema", NULL, NULL, NULL);
    return sqlite3_extended_errcode(database->handle) == SQLITE_READONLY_ROLLBACK;
}

/* SQLite takes a disk that cannot be read for a damaged file; only the system's error tells one from the other. */
static int reading_error(const struct database *database)
{
    int error = 0;
    return sqlite3_file_control(database->handle, NULL, SQLITE_FCNTL_LAST_ERRNO, &error) == SQLITE_OK ? error : 0;
}

bool database_fault(const struct database *database, struct fault *fault)
{
    const char *path = database->path;
    switch (sqlite3_errcode(database->handle) & 0xFF) {
    case SQLITE_NOTADB:
        return fault_set(fault, FAULT_STORE, "%s: no store: the file is no SQLite database", path);
    case SQLITE_CORRUPT:
    case SQLITE_FORMAT:
        if (reading_error(database) != 0)
            return fault_set(fault, FAULT_STORE, "%s: cannot be read: %s", path, strerror(reading_error(database)));
        return fault_set(
            fault, FAULT_STORE,
            "%s: damaged (%s); put back a copy, or move it away and load anew: what it remembered is then lost", path,
            sqlite3_errmsg(database->handle));
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return fault_set(fault, FAULT_STORE, "%s: locked by another program", path);
    case SQLITE_FULL:
        return fault_set(fault, FAULT_STORE, "%s: no space left; nothing was changed", path);
    case SQLITE_CANTOPEN:
        return fault_set(fault, FAULT_STORE, "%s: cannot be opened", path);
    case SQLITE_READONLY:
        return fault_set(fault, FAULT_STORE, "%s: cannot be written", path);
    default:
        return fault_set(fault, FAULT_STORE, "%s: %s", path, sqlite3_errmsg(database->handle));
    }
}

bool sql_run(const struct database *database, const char *sql, struct fault *fault)
{
    if (sqlite3_exec(database->handle, sql, NULL, NULL, NULL) == SQLITE_OK)
        return true;
    return database_fault(database, fault);
}

bool sql_whole(const struct database *database, const char *sql, int64_t *out, struct fault *fault)
{
    AUTO(query) query = query_new(database, fault, sql);
    if (query == NULL || query_step(query, fault) != QUERY_ROW)
        return false;
    *out = query_whole(query, 0);
    return true;
}

/* ---- statements ---- */

struct query {
    const struct database *database;
    sqlite3_stmt *statement;
};

struct query *query_new(const struct database *database, struct fault *fault, const char *sql)
{
    sqlite3_stmt *statement = NULL;
    if (sqlite3_prepare_v2(database->handle, sql, -1, &statement, NULL) != SQLITE_OK) {
        database_fault(database, fault);
        return NULL;
    }
    struct query *query = memory_new(sizeof *query);
    *query = (struct query){database, statement};
    return query;
}

void query_free(struct query *query)
{
    if (query == NULL)
        return;
    sqlite3_finalize(query->statement);
    memory_free(query);
}

static void bind_text(sqlite3_stmt *statement, int at, struct text text)
{
    if (text.data == NULL)
        sqlite3_bind_null(statement, at);
    else
        sqlite3_bind_text64(statement, at, text.data, text.size, SQLITE_TRANSIENT, SQLITE_UTF8);
}

static void bind_values(sqlite3_stmt *statement, const char *types, va_list values)
{
    sqlite3_reset(statement);
    for (int at = 1; *types != '\0'; types++, at++) {
        switch (*types) {
        case 'i':
            sqlite3_bind_int64(statement, at, va_arg(values, int64_t));
            break;
        case 't':
            bind_text(statement, at, va_arg(values, struct text));
            break;
        case 'b': {
            const void *block = va_arg(values, const void *);
            sqlite3_bind_blob64(statement, at, block, va_arg(values, size_t), SQLITE_TRANSIENT);
            break;
        }
        default:
            sqlite3_bind_null(statement, at);
        }
    }
}

void query_bind(struct query *query, const char *types, ...)
{
    va_list values;
    va_start(values, types);
    bind_values(query->statement, types, values);
    va_end(values);
}

enum query_step query_step(struct query *query, struct fault *fault)
{
    switch (sqlite3_step(query->statement)) {
    case SQLITE_ROW:
        return QUERY_ROW;
    case SQLITE_DONE:
        return QUERY_END;
    default:
        database_fault(query->database, fault);
        return QUERY_FAILED;
    }
}

bool query_run(struct query *query, struct fault *fault)
{
    enum query_step step;
    do
        step = query_step(query, fault);
    while (step == QUERY_ROW);
    sqlite3_reset(query->statement);
    return step == QUERY_END;
}

bool query_put(struct query *query, struct fault *fault, const char *types, ...)
{
    va_list values;
    va_start(values, types);
    bind_values(query->statement, types, values);
    va_end(values);
    return query_run(query, fault);
}

sqlite3_stmt *query_statement(struct query *query) { return query->statement; }

int64_t query_changes(struct query *query) { return sqlite3_changes(sqlite3_db_handle(query->statement)); }

int64_t query_whole(struct query *query, int column) { return sqlite3_column_int64(query->statement, column); }

struct text query_text(struct query *query, int column)
{
    const char *data = (const char *)sqlite3_column_text(query->statement, column);
    return (struct text){data, data ? (size_t)sqlite3_column_bytes(query->statement, column) : 0};
}

struct text query_blob(struct query *query, int column)
{
    const char *data = sqlite3_column_blob(query->statement, column);
    return (struct text){data, data ? (size_t)sqlite3_column_bytes(query->statement, column) : 0};
}

bool query_null(struct query *query, int column)
{
    return sqlite3_column_type(query->statement, column) == SQLITE_NULL;
}
