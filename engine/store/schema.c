/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The schema: a few fixed tables, and one table a kind made from the table of kinds. */
#include <stdio.h>

#include "store/inside.h"
#include "store/seal.h"

/* Where a table has `site`, `kind`, `file` or `path`, it holds a number of `names`; 0 stands for none.
 *
 * names     ids, words, paths: each with the load that brought it
 * loads     one row a load, with the chain's head after it
 * links     what each load did, as digests (chain.h)
 * files     the log files of a site as of its latest load; since schema 4 with their size in bytes, 0 where it is not
 *           known yet
 * refusals  the rows refused in it; `cells` is a packed row of the cells that could be read
 * warnings  what it warned of
 * history   versions that ended: `begun` and `ended` are loads, `at` the event, `next` the event of the version that
 *           follows or NULL if the record was withdrawn; a row without `row` is the gap between withdrawal and return
 * standing  since schema 4: where the records of a site and kind stand, as digests (standing.h); nothing of those that
 *           an earlier schema loaded and no load has changed since
 * audits    periods that were audited, with a digest of their findings, and one of their sums since schema 2
 * audit_findings, and audit_sites since schema 2: the findings of each, with rule, subject and state
 *           since schema 3, with the days of the period on which it was judged since schema 5 (NULL in states),
 *           and the tests of each site (audits.c)
 * seal      since schema 4 (seal.h) */
static const char fixed_tables[] =
    "CREATE TABLE names(name INTEGER PRIMARY KEY, text TEXT NOT NULL, load INTEGER NOT NULL);"

    "CREATE TABLE loads(load INTEGER PRIMARY KEY, day INTEGER NOT NULL, head TEXT NOT NULL);"

    "CREATE TABLE links(site INTEGER, kind INTEGER, part INTEGER, load INTEGER, digest BLOB NOT NULL,"
    " PRIMARY KEY(site, kind, part, load)) WITHOUT ROWID;"

    "CREATE TABLE files(site INTEGER, path INTEGER, kind INTEGER NOT NULL, digest BLOB NOT NULL,"
    " rows INTEGER NOT NULL, repeated INTEGER NOT NULL, settled INTEGER NOT NULL, refused TEXT,"
    " PRIMARY KEY(site, path)) WITHOUT ROWID;"

    "CREATE TABLE refusals(site INTEGER, path INTEGER, line INTEGER, place INTEGER, nature INTEGER NOT NULL,"
    " \"column\" TEXT, value TEXT, reason TEXT NOT NULL, cells BLOB NOT NULL,"
    " PRIMARY KEY(site, path, line, place)) WITHOUT ROWID;"

    "CREATE TABLE warnings(site INTEGER, path INTEGER, place INTEGER, text TEXT NOT NULL,"
    " PRIMARY KEY(site, path, place)) WITHOUT ROWID;"

    "CREATE TABLE history(site INTEGER, kind INTEGER, n INTEGER, begun INTEGER, ended INTEGER NOT NULL,"
    " at INTEGER NOT NULL, next INTEGER, file INTEGER NOT NULL, line INTEGER NOT NULL, row BLOB,"
    " PRIMARY KEY(site, kind, n, begun)) WITHOUT ROWID;"

    "CREATE TABLE audits(audit INTEGER PRIMARY KEY, first INTEGER NOT NULL, last INTEGER NOT NULL,"
    " as_of INTEGER NOT NULL, digest BLOB NOT NULL);"

    "CREATE TABLE audit_findings(number TEXT, audit INTEGER, site TEXT NOT NULL,"
    " PRIMARY KEY(number, audit)) WITHOUT ROWID;";

/* ---- migrations ---- */

static bool migrate_from_nothing(const struct database *database, struct fault *fault)
{
    return sql_run(database, fixed_tables, fault);
}

static bool migrate_to_sums(const struct database *database, struct fault *fault)
{
    return sql_run(database,
                   "CREATE TABLE audit_sites(audit INTEGER, site TEXT, tests INTEGER NOT NULL,"
                   " vouched INTEGER NOT NULL, PRIMARY KEY(audit, site)) WITHOUT ROWID;"
                   "ALTER TABLE audits ADD COLUMN sums BLOB;",
                   fault);
}

static bool migrate_to_states(const struct database *database, struct fault *fault)
{
    return sql_run(database,
                   "ALTER TABLE audit_findings ADD COLUMN rule TEXT;"
                   "ALTER TABLE audit_findings ADD COLUMN subject TEXT;"
                   "ALTER TABLE audit_findings ADD COLUMN state TEXT;",
                   fault);
}

static bool migrate_to_tails_and_seal(const struct database *database, struct fault *fault)
{
    return sql_run(database,
                   "ALTER TABLE files ADD COLUMN size INTEGER NOT NULL DEFAULT 0;"
                   "CREATE TABLE standing(site INTEGER, kind INTEGER, span INTEGER, records INTEGER NOT NULL,"
                   " last_n INTEGER NOT NULL, digest BLOB NOT NULL, PRIMARY KEY(site, kind, span)) WITHOUT ROWID;"
                   "CREATE TABLE seal(changes INTEGER NOT NULL);",
                   fault);
}

static bool migrate_to_days(const struct database *database, struct fault *fault)
{
    return sql_run(database,
                   "ALTER TABLE audit_findings ADD COLUMN first_day INTEGER;"
                   "ALTER TABLE audit_findings ADD COLUMN last_day INTEGER;",
                   fault);
}

/* The n-th takes a store of version n to n + 1. Kinds and their columns need none: see add_what_is_new. */
static bool (*const migrations[SCHEMA_VERSION])(const struct database *database, struct fault *fault) = {
    migrate_from_nothing, migrate_to_sums, migrate_to_states, migrate_to_tails_and_seal, migrate_to_days,
};

static bool pragma_set(struct store *store, const char *name, int value, struct fault *fault)
{
    char sql[80];
    snprintf(sql, sizeof sql, "PRAGMA %s = %d", name, value);
    return sql_run(&store->database, sql, fault);
}

static bool migrate(struct store *store, struct fault *fault)
{
    int64_t version = 0;
    if (!sql_whole(&store->database, "PRAGMA user_version", &version, fault))
        return false;
    for (; version < SCHEMA_VERSION; version++)
        if (!migrations[version](&store->database, fault))
            return false;
    return pragma_set(store, "user_version", SCHEMA_VERSION, fault) &&
           pragma_set(store, "application_id", APPLICATION_ID, fault);
}

/* ---- tables of the kinds ---- */

static const char *column_sql_type(const struct column *column) { return column_is_text(column) ? "TEXT" : "INTEGER"; }

const char *layout_event(const struct layout *layout, char out[64])
{
    const struct record_kind *kind = layout->kind;
    if (kind->event_column < 0)
        return "0";
    snprintf(out, 64, "\"%s\"", kind->columns[kind->event_column].name);
    return out;
}

/* With the kind's columns at these places. */
static bool create_table(const struct database *database, const struct record_kind *kind, const int *columns,
                         size_t count, struct fault *fault)
{
    AUTO(output) sql = output_memory();
    output_print(sql, "CREATE TABLE \"%s\"(site INTEGER", kind->name);
    for (size_t i = 0; i < count; i++)
        output_print(sql, ", \"%s\" %s", kind->columns[columns[i]].name, column_sql_type(&kind->columns[columns[i]]));
    output_print(sql,
                 ", n INTEGER, file INTEGER NOT NULL, line INTEGER NOT NULL, load INTEGER NOT NULL, PRIMARY KEY(site");
    if (kind->event_column >= 0)
        output_print(sql, ", \"%s\"", kind->columns[kind->event_column].name);
    output_print(sql, ", n)) WITHOUT ROWID");
    return sql_run(database, output_string(sql), fault);
}

static bool create_whole_table(const struct database *database, const struct record_kind *kind, struct fault *fault)
{
    int columns[COLUMNS_MOST];
    for (size_t i = 0; i < kind->column_count; i++)
        columns[i] = (int)i;
    return create_table(database, kind, columns, kind->column_count, fault);
}

static bool add_column(const struct database *database, const struct record_kind *kind, const struct column *column,
                       struct fault *fault)
{
    AUTO(output) sql = output_memory();
    output_print(sql, "ALTER TABLE \"%s\" ADD COLUMN \"%s\" %s", kind->name, column->name, column_sql_type(column));
    return sql_run(database, output_string(sql), fault);
}

static bool add_what_is_new(struct store *store, struct fault *fault)
{
    for (size_t k = 0; k < KIND_COUNT; k++) {
        const struct layout *layout = &store->layouts[k];
        if (layout->count == 0 && !create_whole_table(&store->database, layout->kind, fault))
            return false;
        for (size_t i = 0; i < layout->kind->column_count && layout->count > 0; i++)
            if (layout->place_of[i] < 0 &&
                !add_column(&store->database, layout->kind, &layout->kind->columns[i], fault))
                return false;
    }
    return true;
}

static bool is_own_column(struct text name)
{
    return text_is(name, "site") || text_is(name, "n") || text_is(name, "file") || text_is(name, "line") ||
           text_is(name, "load");
}

static bool layout_read(struct store *store, enum kind_id id, struct fault *fault)
{
    struct layout *layout = &store->layouts[id];
    *layout = (struct layout){.kind = kind_of(id),
                              .hash_key = text_hash_key(),
                              .kind_name = names_find(store->names, text_of(kind_of(id)->name))};
    for (size_t i = 0; i < COLUMNS_MOST; i++)
        layout->place_of[i] = -1;
    AUTO(query) columns = query_new(&store->database, fault, "SELECT name FROM pragma_table_info(?) ORDER BY cid");
    if (columns == NULL)
        return false;
    query_bind(columns, "t", text_of(layout->kind->name));
    enum query_step step;
    while ((step = query_step(columns, fault)) == QUERY_ROW) {
        struct text name = query_text(columns, 0);
        if (is_own_column(name)) {
            if (text_is(name, "n"))
                layout->count_at_first = layout->count;
            continue;
        }
        int column = kind_column(layout->kind, name);
        if (column < 0 || layout->count == COLUMNS_MOST)
            return fault_set(fault, FAULT_STORE, "%s: made by a newer assize: %s.%.*s is not known here", store->path,
                             layout->kind->name, TEXT_FORMAT(name));
        layout->place_of[column] = layout->count;
        layout->column_at[layout->count++] = column;
    }
    return step == QUERY_END;
}

bool schema_read(struct store *store, struct fault *fault)
{
    for (size_t k = 0; k < KIND_COUNT; k++)
        if (!layout_read(store, (enum kind_id)k, fault))
            return false;
    return true;
}

/* An edited store stays known as that until something is committed to it. */
static bool write_schema(struct store *store, struct fault *fault)
{
    int64_t count = 0;
    if (!seal_count(store, &count, fault))
        return false;
    if (count != store->file_count)
        return fault_set(fault, FAULT_STORE, "%s: was changed by another program while it was opened", store->path);
    return migrate(store, fault) && schema_read(store, fault) && add_what_is_new(store, fault) &&
           schema_read(store, fault) && (store->edited || seal_set(store, count, fault));
}

static bool is_complete(const struct store *store)
{
    for (size_t k = 0; k < KIND_COUNT; k++)
        for (size_t i = 0; i < store->layouts[k].kind->column_count; i++)
            if (store->layouts[k].place_of[i] < 0)
                return false;
    return true;
}

bool schema_write(struct store *store, struct fault *fault)
{
    int64_t version = 0;
    if (!sql_whole(&store->database, "PRAGMA user_version", &version, fault) || !schema_read(store, fault))
        return false;
    if (version == SCHEMA_VERSION && is_complete(store))
        return true;
    if (sql_run(&store->database, "BEGIN IMMEDIATE", fault) && write_schema(store, fault) &&
        sql_run(&store->database, "COMMIT", fault)) {
        store->schema = SCHEMA_VERSION;
        return seal_count(store, &store->file_count, fault);
    }
    sql_run(&store->database, "ROLLBACK", NULL);
    return false;
}

/* ---- the tables as they should be ---- */

bool schema_expect(const struct store *store, struct database *expected, struct fault *fault)
{
    *expected = (struct database){0};
    if (!database_open(expected, ":memory:", SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, fault))
        return false;
    for (int64_t version = 0; version < store->schema; version++)
        if (!migrations[version](expected, fault))
            return false;
    for (size_t k = 0; k < KIND_COUNT; k++) {
        const struct layout *layout = &store->layouts[k];
        int event = layout->kind->event_column;
        if (layout->count == 0) /* a kind that is newer than the store */
            continue;
        if (event >= 0 && (layout->place_of[event] < 0 || layout->place_of[event] >= layout->count_at_first))
            return fault_set(fault, FAULT_STORE, "%s: damaged: the definition of the table %s was changed", store->path,
                             layout->kind->name);
        if (!create_table(expected, layout->kind, layout->column_at, (size_t)layout->count_at_first, fault))
            return false;
        for (int i = layout->count_at_first; i < layout->count; i++)
            if (!add_column(expected, layout->kind, &layout->kind->columns[layout->column_at[i]], fault))
                return false;
    }
    return true;
}

/* ---- statements on the tables of the kinds ---- */

static void print_places(struct output *sql, const struct layout *layout)
{
    for (int place = 0; place < layout->count; place++)
        output_print(sql, "\"%s\", ", layout->kind->columns[layout->column_at[place]].name);
}

struct query *rows_query(const struct store *store, const struct layout *layout, const char *rest, struct fault *fault)
{
    AUTO(output) sql = output_memory();
    output_print(sql, "SELECT ");
    print_places(sql, layout);
    output_print(sql, "n, file, line, load FROM \"%s\" %s", layout->kind->name, rest);
    return query_new(&store->database, fault, output_string(sql));
}

struct query *rows_insert(const struct store *store, const struct layout *layout, struct fault *fault)
{
    AUTO(output) sql = output_memory();
    output_print(sql, "INSERT INTO \"%s\"(", layout->kind->name);
    print_places(sql, layout);
    output_print(sql, "site, n, file, line, load) SELECT ");
    for (int place = 0; place < layout->count; place++)
        output_print(sql, "c%d, ", place);
    output_print(sql, "site, n, file, line, load FROM feed");
    return query_new(&store->database, fault, output_string(sql));
}

struct query *rows_change(const struct store *store, const struct layout *layout, enum rows_change change,
                          struct fault *fault)
{
    char event[64];
    AUTO(output) sql = output_memory();
    output_print(sql, change == ROWS_DELETE ? "DELETE FROM \"%s\"" : "UPDATE \"%s\" SET file = ?4, line = ?5",
                 layout->kind->name);
    output_print(sql, " WHERE site = ?1 AND %s = ?2 AND n = ?3", layout_event(layout, event));
    return query_new(&store->database, fault, output_string(sql));
}
