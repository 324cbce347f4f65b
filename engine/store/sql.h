/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A thin layer over SQLite: one way to prepare, bind, step and fail. */
#ifndef ASSIZE_STORE_SQL_H
#define ASSIZE_STORE_SQL_H

#include <sqlite3.h>
#include <stdbool.h>
#include <stdint.h>

#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"

/* A connection and the name that faults give it. */
struct database {
    sqlite3 *handle;
    char *path;
};

bool database_open(struct database *database, const char *path, int flags, struct fault *fault);
/* The file as it is, without what may lie beside it and waits to be played into it; for reading only. */
bool database_open_alone(struct database *database, const char *path, struct fault *fault);
void database_close(struct database *database);

/* Whether the file waits for a change that was cut off to be taken back, and this connection may only read. */
bool database_is_cut_off(const struct database *database);

/* Turns SQLite's last error into a fault: locked, damaged, no database, no space …; returns false. */
bool database_fault(const struct database *database, struct fault *fault);

/* Runs statements that give no rows. The text may hold several, divided by `;`. */
bool sql_run(const struct database *database, const char *sql, struct fault *fault);

/* One number; false if there is none, or on a fault. */
bool sql_whole(const struct database *database, const char *sql, int64_t *out, struct fault *fault);

/* A prepared statement. `types` has a letter for each value: i int64_t, t struct text, b (const void *, size_t), n
 * (NULL). */
struct query;
struct query *query_new(const struct database *database, struct fault *fault, const char *sql); /* NULL on a fault */
void query_bind(struct query *query, const char *types, ...); /* from the first parameter on; starts it anew */
void query_free(struct query *query);
OWNER(query);

enum query_step { QUERY_ROW, QUERY_END, QUERY_FAILED };
enum query_step query_step(struct query *query, struct fault *fault);
bool query_run(struct query *query, struct fault *fault);                         /* steps to the end */
bool query_put(struct query *query, struct fault *fault, const char *types, ...); /* binds and runs */

/* Rows that the statement changed when it ran. */
int64_t query_changes(struct query *query);

/* The columns of the row a query stands on. Texts and blobs are valid until the next step; NULL gives 0 or absent. */
sqlite3_stmt *query_statement(struct query *query);
int64_t query_whole(struct query *query, int column);
struct text query_text(struct query *query, int column);
struct text query_blob(struct query *query, int column);
bool query_null(struct query *query, int column);

#endif
