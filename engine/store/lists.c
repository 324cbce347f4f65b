/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/lists.h"

#include <stdlib.h>

void lists_free(struct lists *lists)
{
    for (size_t i = 0; i < lists->count; i++) {
        memory_free(lists->files[i].refusals);
        memory_free(lists->files[i].warnings);
    }
    memory_free(lists->files);
    arena_free(lists->arena);
    *lists = (struct lists){0};
}

struct kept_file *lists_add(struct lists *lists)
{
    VECTOR_GROW(lists->files, lists->count, lists->capacity);
    struct kept_file *file = &lists->files[lists->count++];
    *file = (struct kept_file){.settled = true, .reads_to_end = true};
    return file;
}

static int compare_path(const void *path, const void *file)
{
    return text_compare(*(const struct text *)path, ((const struct kept_file *)file)->path);
}

struct kept_file *lists_find(const struct lists *lists, struct text path)
{
    if (lists->count == 0)
        return NULL;
    return bsearch(&path, lists->files, lists->count, sizeof *lists->files, compare_path);
}

void file_refuses(struct kept_file *file, struct kept_refusal refusal)
{
    VECTOR_GROW(file->refusals, file->refusal_count, file->refusal_capacity);
    file->refusals[file->refusal_count++] = refusal;
    if (refusal.nature == REFUSAL_TO_END)
        file->reads_to_end = false;
}

void file_warns(struct kept_file *file, struct text warning)
{
    VECTOR_GROW(file->warnings, file->warning_count, file->warning_capacity);
    file->warnings[file->warning_count++] = warning;
}

/* ---- reading ---- */

static void read_file(struct store *store, struct query *query, struct lists *lists)
{
    struct kept_file *file = lists_add(lists);
    file->path_name = (uint32_t)query_whole(query, 0);
    file->path = text_keep(lists->arena, query_text(query, 1));
    file->kind = kind_named(store_name(store, query_whole(query, 2)));
    struct text digest = query_blob(query, 3);
    if (digest.size == DIGEST_SIZE)
        memcpy(file->digest, digest.data, DIGEST_SIZE);
    file->rows = (uint64_t)query_whole(query, 4);
    file->repeated = (uint64_t)query_whole(query, 5);
    file->settled = query_whole(query, 6) != 0;
    file->refused = text_keep(lists->arena, query_text(query, 7));
    file->size = (size_t)query_whole(query, 8);
}

static bool read_files(struct store *store, struct lists *lists, struct fault *fault)
{
    AUTO(output) sql = output_memory();
    output_print(sql,
                 "SELECT path, text, kind, digest, rows, repeated, settled, refused, %s FROM files"
                 " LEFT JOIN names ON name = path WHERE site = ? ORDER BY text",
                 store->schema < 4 ? "0" : "size");
    AUTO(query) query = query_new(&store->database, fault, output_string(sql));
    if (query == NULL)
        return false;
    query_bind(query, "i", lists->site);
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW)
        read_file(store, query, lists);
    return step == QUERY_END;
}

/* Blobs without bytes come back as NULL; a packed row always has one. */
static void read_refusal(struct query *query, struct lists *lists, struct kept_file *file)
{
    struct kept_refusal refusal = {.line = (uint32_t)query_whole(query, 1),
                                   .nature = (enum refusal_nature)query_whole(query, 2)};
    refusal.column = text_keep(lists->arena, query_text(query, 3));
    refusal.value = text_keep(lists->arena, query_text(query, 4));
    refusal.reason = text_keep(lists->arena, query_text(query, 5));
    refusal.cells = text_keep(lists->arena, query_blob(query, 6));
    file_refuses(file, refusal);
}

/* Gives each row of a query to the file whose path's name stands in its first column. */
static bool read_parts(struct store *store, struct lists *lists, const char *sql,
                       void (*take)(struct query *query, struct lists *lists, struct kept_file *file),
                       struct fault *fault)
{
    AUTO(query) query = query_new(&store->database, fault, sql);
    if (query == NULL)
        return false;
    query_bind(query, "i", lists->site);
    struct kept_file *file = NULL;
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW) {
        if (file == NULL || file->path_name != query_whole(query, 0))
            file = lists_find(lists, store_name(store, query_whole(query, 0)));
        if (file != NULL)
            take(query, lists, file);
        else
            lists->strays++;
    }
    return step == QUERY_END;
}

static void read_warning(struct query *query, struct lists *lists, struct kept_file *file)
{
    file_warns(file, text_keep(lists->arena, query_text(query, 1)));
}

bool lists_read(struct store *store, int64_t site, struct lists *out, struct fault *fault)
{
    *out = (struct lists){.arena = arena_new(), .site = site};
    return read_files(store, out, fault) &&
           read_parts(store, out,
                      "SELECT path, line, nature, \"column\", value, reason, cells FROM refusals WHERE site = ?"
                      " ORDER BY path, line, place",
                      read_refusal, fault) &&
           read_parts(store, out, "SELECT path, text FROM warnings WHERE site = ? ORDER BY path, place", read_warning,
                      fault);
}

/* ---- digests ---- */

/* The size, which schema 4 added, stands behind a number that no item begins with; without it the item is that of the
 * schemas before. */
static void file_item(struct stream *stream, const struct kept_file *file)
{
    bytes_text(&stream->block, file->path);
    bytes_text(&stream->block, text_of(file->kind ? file->kind->name : NULL));
    bytes_block(&stream->block, file->digest, DIGEST_SIZE);
    bytes_number(&stream->block, file->rows);
    bytes_number(&stream->block, file->repeated);
    bytes_number(&stream->block, file->settled);
    bytes_text(&stream->block, file->refused);
    if (file->size > 0) {
        bytes_number(&stream->block, 2);
        bytes_number(&stream->block, file->size);
    }
    stream_item(stream);
}

static void refusal_item(struct stream *stream, const struct kept_file *file, const struct kept_refusal *refusal)
{
    bytes_text(&stream->block, file->path);
    bytes_number(&stream->block, refusal->line);
    bytes_number(&stream->block, refusal->nature);
    bytes_text(&stream->block, refusal->column);
    bytes_text(&stream->block, refusal->value);
    bytes_text(&stream->block, refusal->reason);
    bytes_text(&stream->block, refusal->cells);
    stream_item(stream);
}

static void warning_item(struct stream *stream, const struct kept_file *file, struct text warning)
{
    bytes_text(&stream->block, file->path);
    bytes_text(&stream->block, warning);
    stream_item(stream);
}

void lists_digest(const struct lists *lists, struct list_digests *out)
{
    AUTO_STREAM files = {0};
    AUTO_STREAM refusals = {0};
    AUTO_STREAM warnings = {0};
    for (size_t i = 0; i < lists->count; i++) {
        const struct kept_file *file = &lists->files[i];
        file_item(&files, file);
        for (size_t j = 0; j < file->refusal_count; j++)
            refusal_item(&refusals, file, &file->refusals[j]);
        for (size_t j = 0; j < file->warning_count; j++)
            warning_item(&warnings, file, file->warnings[j]);
    }
    stream_end(&files, out->files);
    stream_end(&refusals, out->refusals);
    stream_end(&warnings, out->warnings);
}

/* ---- writing ---- */

static bool delete_of_site(struct store *store, const char *sql, int64_t site, struct fault *fault)
{
    AUTO(query) query = query_new(&store->database, fault, sql);
    return query != NULL && query_put(query, fault, "i", site);
}

static bool write_files(struct store *store, const struct lists *lists, struct fault *fault)
{
    AUTO(query) put = query_new(&store->database, fault, "INSERT INTO files VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?)");
    if (put == NULL || !delete_of_site(store, "DELETE FROM files WHERE site = ?", lists->site, fault))
        return false;
    for (size_t i = 0; i < lists->count; i++) {
        const struct kept_file *file = &lists->files[i];
        int64_t kind = file->kind ? store_layout(store, file->kind)->kind_name : 0;
        if (!query_put(put, fault, "iiibiiiti", lists->site, (int64_t)file->path_name, kind, (const void *)file->digest,
                       (size_t)DIGEST_SIZE, (int64_t)file->rows, (int64_t)file->repeated, (int64_t)file->settled,
                       file->refused, (int64_t)file->size))
            return false;
    }
    return true;
}

static bool write_refusals_of(struct query *put, int64_t site, const struct kept_file *file, struct fault *fault)
{
    for (size_t i = 0; i < file->refusal_count; i++) {
        const struct kept_refusal *refusal = &file->refusals[i];
        if (!query_put(put, fault, "iiiiitttb", site, (int64_t)file->path_name, (int64_t)refusal->line, (int64_t)i,
                       (int64_t)refusal->nature, refusal->column, refusal->value, refusal->reason,
                       (const void *)refusal->cells.data, refusal->cells.size))
            return false;
    }
    return true;
}

static bool write_refusals(struct store *store, const struct lists *lists, struct fault *fault)
{
    AUTO(query) put = query_new(&store->database, fault, "INSERT INTO refusals VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?)");
    if (put == NULL || !delete_of_site(store, "DELETE FROM refusals WHERE site = ?", lists->site, fault))
        return false;
    for (size_t i = 0; i < lists->count; i++)
        if (!write_refusals_of(put, lists->site, &lists->files[i], fault))
            return false;
    return true;
}

static bool write_warnings(struct store *store, const struct lists *lists, struct fault *fault)
{
    AUTO(query) put = query_new(&store->database, fault, "INSERT INTO warnings VALUES(?, ?, ?, ?)");
    if (put == NULL || !delete_of_site(store, "DELETE FROM warnings WHERE site = ?", lists->site, fault))
        return false;
    for (size_t i = 0; i < lists->count; i++)
        for (size_t j = 0; j < lists->files[i].warning_count; j++)
            if (!query_put(put, fault, "iiit", lists->site, (int64_t)lists->files[i].path_name, (int64_t)j,
                           lists->files[i].warnings[j]))
                return false;
    return true;
}

/* Whether the latest link of the part has this digest: then the list is as stored. A site without links has empty
 * lists. */
static bool is_stored(struct store *store, int64_t site, enum link_part part, const unsigned char digest[DIGEST_SIZE],
                      bool *out, struct fault *fault)
{
    AUTO(query)
    query = query_new(&store->database, fault,
                      "SELECT digest FROM links WHERE site = ? AND kind = 0 AND part = ? ORDER BY load DESC LIMIT 1");
    if (query == NULL)
        return false;
    query_bind(query, "ii", site, (int64_t)part);
    unsigned char empty[DIGEST_SIZE];
    digest_of(NULL, 0, empty);
    struct text stored = {(const char *)empty, DIGEST_SIZE};
    enum query_step step = query_step(query, fault);
    if (step == QUERY_ROW)
        stored = query_blob(query, 0);
    *out = text_equal(stored, (struct text){(const char *)digest, DIGEST_SIZE});
    return step != QUERY_FAILED;
}

bool lists_write(struct store *store, const struct lists *lists, struct links *links, struct fault *fault)
{
    struct list_digests digests;
    lists_digest(lists, &digests);
    const struct {
        enum link_part part;
        const unsigned char *digest;
        bool (*write)(struct store *store, const struct lists *lists, struct fault *fault);
    } parts[] = {
        {LINK_FILES, digests.files, write_files},
        {LINK_REFUSALS, digests.refusals, write_refusals},
        {LINK_WARNINGS, digests.warnings, write_warnings},
    };
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        bool stored;
        if (!is_stored(store, lists->site, parts[i].part, parts[i].digest, &stored, fault))
            return false;
        if (stored)
            continue;
        if (!parts[i].write(store, lists, fault))
            return false;
        links_add(links, lists->site, 0, parts[i].part, parts[i].digest);
    }
    return true;
}
