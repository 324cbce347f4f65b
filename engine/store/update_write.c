/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>

#include "store/feed.h"
#include "store/standing.h"

void update_queries_free(struct update_queries *queries)
{
    for (size_t k = 0; k < KIND_COUNT; k++) {
        query_free(queries->kinds[k].latest);
        query_free(queries->kinds[k].ahead);
        query_free(queries->kinds[k].records);
        query_free(queries->kinds[k].places);
        query_free(queries->kinds[k].insert);
        query_free(queries->kinds[k].remove);
        query_free(queries->kinds[k].move);
    }
    query_free(queries->history);
    query_free(queries->history_put);
    query_free(queries->standing);
    query_free(queries->standing_count);
    query_free(queries->standing_put);
    query_free(queries->standing_remove);
    *queries = (struct update_queries){0};
}

/* Of the statement that ran last. A store that was edited may leave a row out without a word. */
static bool all_were_written(const struct gathering *gathering, struct query *query, size_t count, struct fault *fault)
{
    if (query_changes(query) == (int64_t)count)
        return true;
    return fault_set(fault, FAULT_STORE, "%s: damaged: of %zu rows of %s %lld could be written; nothing was",
                     gathering->store->path, count, gathering->layout->kind->name, (long long)query_changes(query));
}

/* ---- versions that end ---- */

static int compare_whole(int64_t a, int64_t b) { return (a > b) - (a < b); }

static int compare_ended(const void *left, const void *right)
{
    const struct ended_version *a = left, *b = right;
    int order = compare_whole(a->n, b->n);
    return order != 0 ? order : compare_whole(a->begun, b->begun);
}

static bool put_in_history(const struct gathering *gathering, struct query *put, const struct ended_version *version,
                           int64_t load, struct fault *fault)
{
    query_bind(put, "iiiiiinii", gathering->lists->site, (int64_t)gathering->layout->kind_name, version->n,
               version->begun, load, version->at, version->file, version->line);
    sqlite3_stmt *statement = query_statement(put);
    if (version->followed)
        sqlite3_bind_int64(statement, 7, version->next);
    if (version->row.data != NULL)
        sqlite3_bind_blob64(statement, 10, version->row.data, version->row.size, SQLITE_TRANSIENT);
    else
        sqlite3_bind_null(statement, 10);
    return query_run(put, fault) && all_were_written(gathering, put, 1, fault);
}

static bool write_ended(struct gathering *gathering, struct update_queries *queries, struct update *update,
                        int64_t load, struct links *links, struct fault *fault)
{
    struct query **remove = &queries->kinds[gathering->layout->kind->id].remove;
    if (update->ended_count == 0)
        return true;
    if (*remove == NULL)
        *remove = rows_change(gathering->store, gathering->layout, ROWS_DELETE, fault);
    if (queries->history_put == NULL)
        queries->history_put = query_new(&gathering->store->database, fault,
                                         "INSERT INTO history(site, kind, n, begun, ended, at, next, file, line, row)"
                                         " VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    if (*remove == NULL || queries->history_put == NULL)
        return false;
    qsort(update->ended, update->ended_count, sizeof *update->ended, compare_ended);
    AUTO_STREAM stream = {0};
    for (size_t i = 0; i < update->ended_count; i++) {
        const struct ended_version *version = &update->ended[i];
        stream_ended(&stream, version);
        if (version->row.data != NULL &&
            (!query_put(*remove, fault, "iii", gathering->lists->site, version->at, version->n) ||
             !all_were_written(gathering, *remove, 1, fault)))
            return false;
        if (!put_in_history(gathering, queries->history_put, version, load, fault))
            return false;
    }
    unsigned char digest[DIGEST_SIZE];
    stream_end(&stream, digest);
    links_add(links, gathering->lists->site, gathering->layout->kind_name, LINK_ENDED, digest);
    return true;
}

/* ---- records that moved ---- */

static bool write_moved(struct gathering *gathering, struct update_queries *queries, const struct update *update,
                        struct fault *fault)
{
    struct query **move = &queries->kinds[gathering->layout->kind->id].move;
    if (update->moved_count == 0)
        return true;
    if (*move == NULL)
        *move = rows_change(gathering->store, gathering->layout, ROWS_MOVE, fault);
    if (*move == NULL)
        return false;
    for (size_t i = 0; i < update->moved_count; i++) {
        const struct moved_record *moved = &update->moved[i];
        if (!query_put(*move, fault, "iiiii", gathering->lists->site, moved->at, moved->n, (int64_t)moved->file_name,
                       (int64_t)moved->line) ||
            !all_were_written(gathering, *move, 1, fault))
            return false;
    }
    return true;
}

/* ---- versions that begin ---- */

/* The order of the table; of new records, which get higher numbers than all others, by file and line. */
static int compare_rows(const void *left, const void *right)
{
    const struct gathered_row *a = left, *b = right;
    if (a->at != b->at)
        return a->at < b->at ? -1 : 1;
    if (a->n != b->n)
        return a->n - 1 < b->n - 1 ? -1 : 1; /* none wraps round to the highest */
    struct row_view here = row_view(a), there = row_view(b);
    int order = compare_whole(here.file, there.file);
    return order != 0 ? order : compare_whole(here.line, there.line);
}

static void keep_standing_rows(struct gathering *gathering)
{
    size_t kept = 0;
    for (size_t i = 0; i < gathering->count; i++)
        if (gathering->rows[i].state == ROW_STANDS)
            gathering->rows[kept++] = gathering->rows[i];
    gathering->count = kept;
}

static void bring_into_order(struct gathering *gathering)
{
    for (size_t i = 1; i < gathering->count; i++) {
        if (compare_rows(&gathering->rows[i - 1], &gathering->rows[i]) <= 0)
            continue;
        qsort(gathering->rows, gathering->count, sizeof *gathering->rows, compare_rows);
        return;
    }
}

static void note_early(struct update *update, const struct gathered_row *row)
{
    if (update->records == 0 || row->at == 0 || row->at >= update->latest)
        return;
    if (update->early++ == 0)
        update->first_early = row_view(row);
}

static void give_numbers(struct gathering *gathering, struct update *update)
{
    for (size_t i = 0; i < gathering->count; i++) {
        struct gathered_row *row = &gathering->rows[i];
        if (row->n != 0)
            continue;
        row->n = (uint32_t)++update->last_n;
        update->added++;
        note_early(update, row);
    }
}

static bool insert_rows(struct gathering *gathering, struct update_queries *queries, int64_t load, struct fault *fault)
{
    struct query **insert = &queries->kinds[gathering->layout->kind->id].insert;
    if (*insert == NULL)
        *insert = rows_insert(gathering->store, gathering->layout, fault);
    if (*insert == NULL)
        return false;
    *gathering->store->feed = (struct feed){
        .layout = gathering->layout,
        .lists = gathering->lists,
        .rows = gathering->rows,
        .count = gathering->count,
        .load = load,
    };
    bool done = query_run(*insert, fault) && all_were_written(gathering, *insert, gathering->count, fault);
    *gathering->store->feed = (struct feed){0};
    return done;
}

static bool write_rows(struct gathering *gathering, struct update_queries *queries, struct update *update, int64_t load,
                       struct links *links, struct fault *fault)
{
    keep_standing_rows(gathering);
    if (gathering->count == 0)
        return true;
    bring_into_order(gathering);
    give_numbers(gathering, update);
    if (!insert_rows(gathering, queries, load, fault))
        return false;
    AUTO_STREAM stream = {0};
    for (size_t i = 0; i < gathering->count; i++) {
        struct row_view view = row_view(&gathering->rows[i]);
        stream_taken(&stream, gathering->rows[i].n, view.row, view.size);
    }
    unsigned char digest[DIGEST_SIZE];
    stream_end(&stream, digest);
    links_add(links, gathering->lists->site, gathering->layout->kind_name, LINK_TAKEN, digest);
    return true;
}

/* ---- all ---- */

bool update_write(struct gathering *gathering, struct update_queries *queries, struct update *update, int64_t load,
                  struct links *links, struct fault *fault)
{
    return write_ended(gathering, queries, update, load, links, fault) &&
           write_moved(gathering, queries, update, fault) &&
           write_rows(gathering, queries, update, load, links, fault) &&
           standing_write(gathering, queries, update, links, fault);
}
