/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a site: its records, files and refusals. */
#include <stdio.h>

#include "store/lists.h"

/* By time, where the kind's event is a time: that is how the table lies. By path and line otherwise. */
static struct query *records_query(struct store *store, const struct layout *layout, struct fault *fault)
{
    const struct record_kind *kind = layout->kind;
    char rest[160];
    if (kind->event_column >= 0 && kind->columns[kind->event_column].type == CELL_TIME)
        snprintf(rest, sizeof rest, "WHERE site = ? ORDER BY site, \"%s\", n", kind->columns[kind->event_column].name);
    else
        snprintf(rest, sizeof rest, "WHERE site = ? ORDER BY (SELECT text FROM names WHERE name = file), line, n");
    return rows_query(store, layout, rest, fault);
}

/* No load writes such a record: the store was edited or is damaged. */
static bool no_file(const struct store *store, const struct record_kind *kind, struct text site, struct fault *fault)
{
    return fault_set(fault, FAULT_STORE,
                     "%s: is damaged: a record of %s at %.*s does not say in which file it stands; `assize verify` "
                     "tells more",
                     store->path, kind->name, TEXT_FORMAT(site));
}

bool store_read(struct store *store, struct text site, const struct record_kind *kind, stored_row_function *row,
                void *context, struct fault *fault)
{
    const struct layout *layout = store_layout(store, kind);
    uint32_t name = names_find(store->names, site);
    if (name == 0 || layout->count == 0)
        return true;
    AUTO(query) query = records_query(store, layout, fault);
    if (query == NULL)
        return false;
    query_bind(query, "i", (int64_t)name);
    struct cell cells[COLUMNS_MOST];
    struct stored_row stored = {.cells = cells};
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW) {
        int64_t file = query_whole(query, layout->count + 1);
        if (store_name(store, file).data == NULL)
            return no_file(store, kind, site, fault);
        row_cells_sql(layout, store->names, query_statement(query), 0, cells);
        stored.file = (uint32_t)file;
        stored.line = (uint32_t)query_whole(query, layout->count + 2);
        row(context, &stored);
    }
    return step == QUERY_END;
}

bool store_count(struct store *store, struct text site, const struct record_kind *kind, uint64_t *out,
                 struct fault *fault)
{
    uint32_t name = names_find(store->names, site);
    *out = 0;
    if (name == 0 || store_layout(store, kind)->count == 0)
        return true;
    char sql[120];
    snprintf(sql, sizeof sql, "SELECT count(*) FROM \"%s\" WHERE site = %u", kind->name, name);
    int64_t count;
    if (!sql_whole(&store->database, sql, &count, fault))
        return false;
    *out = (uint64_t)count;
    return true;
}

bool store_operators(struct store *store, struct text site, stored_operator_function *function, void *context,
                     struct fault *fault)
{
    uint32_t name = names_find(store->names, site);
    AUTO(query)
    query = query_new(&store->database, fault,
                      "SELECT operator FROM tests WHERE site = ?1"
                      " UNION SELECT operator FROM controls WHERE site = ?1");
    if (query == NULL)
        return false;
    query_bind(query, "i", (int64_t)name);
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW) {
        int64_t operator_ = query_whole(query, 0);
        if (operator_ > 0 && operator_ <= names_count(store->names)) /* else the store was edited: verify tells it */
            function(context, (uint32_t)operator_);
    }
    return step == QUERY_END;
}

/* From one site's links to the next site's: there may be a thousand times as many links as sites. */
bool store_sites(struct store *store, stored_site_function *function, void *context, struct fault *fault)
{
    AUTO(query)
    query = query_new(&store->database, fault,
                      "WITH RECURSIVE sites(site) AS (SELECT min(site) FROM links WHERE site > 0 UNION ALL"
                      " SELECT (SELECT min(site) FROM links WHERE site > sites.site) FROM sites WHERE site > 0)"
                      " SELECT site FROM sites WHERE site > 0");
    if (query == NULL)
        return false;
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW) {
        struct text site = store_name(store, query_whole(query, 0));
        if (site.data != NULL) /* else the store was edited: verify tells it */
            function(context, site);
    }
    return step == QUERY_END;
}

bool store_files(struct store *store, struct text site, stored_file_function *function, void *context,
                 struct fault *fault)
{
    AUTO_LISTS lists = {0};
    if (!lists_read(store, names_find(store->names, site), &lists, fault))
        return false;
    for (size_t i = 0; i < lists.count; i++) {
        const struct kept_file *file = &lists.files[i];
        struct stored_file stored = {file->path, file->kind, file->rows, file->refused};
        function(context, &stored);
    }
    return true;
}

/* A cell of a refused row, NULL if the kind has no such column, or it could not be read. */
static const struct cell *cell_named(const struct record_kind *kind, const struct cell *cells, const char *name)
{
    int column = kind_column(kind, text_of(name));
    return column >= 0 && cells[column].present ? &cells[column] : NULL;
}

static struct stored_refusal stored_refusal(struct store *store, const struct kept_file *file,
                                            const struct kept_refusal *refusal)
{
    struct stored_refusal stored = {
        .path = file->path,
        .line = refusal->line,
        .kind = file->kind,
        .column = refusal->column,
        .value = refusal->value,
        .reason = refusal->reason,
        .to_end = refusal->nature == REFUSAL_TO_END,
        .at = MOMENT_ABSENT,
    };
    const struct layout *layout = store_layout(store, file->kind);
    const unsigned char *packed = (const unsigned char *)refusal->cells.data;
    struct value values[COLUMNS_MOST];
    struct cell cells[COLUMNS_MOST];
    if (packed == NULL || row_values(layout, packed, packed + refusal->cells.size, values) == NULL)
        return stored;
    row_cells(layout, store->names, values, cells);
    const struct cell *analyzer = cell_named(file->kind, cells, "analyzer");
    const struct cell *sequence = cell_named(file->kind, cells, "sequence");
    stored.analyzer = analyzer != NULL ? (uint32_t)analyzer->whole : 0;
    stored.has_sequence = sequence != NULL;
    stored.sequence = sequence != NULL ? sequence->whole : 0;
    stored.at = row_moment(file->kind, cells);
    return stored;
}

bool store_refusals(struct store *store, struct text site, stored_refusal_function *function, void *context,
                    struct fault *fault)
{
    AUTO_LISTS lists = {0};
    if (!lists_read(store, names_find(store->names, site), &lists, fault))
        return false;
    for (size_t i = 0; i < lists.count; i++) {
        for (size_t j = 0; j < lists.files[i].refusal_count && lists.files[i].kind != NULL; j++) {
            struct stored_refusal stored = stored_refusal(store, &lists.files[i], &lists.files[i].refusals[j]);
            function(context, &stored);
        }
    }
    return true;
}
