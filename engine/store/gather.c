/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/gather.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/map.h"
#include "intake/log.h"
#include "store/content.h"

/* ---- memory of the rows ---- */

enum { CHUNK_SIZE = 1024 * 1024, HASH_BITS = 0x3FFFFFFF /* that a row keeps of its hash */ };

struct chunk {
    struct chunk *next;
    size_t used, size;
    unsigned char bytes[];
};

static unsigned char *chunk_take(struct gathering *gathering, size_t size)
{
    struct chunk *chunk = gathering->chunks;
    if (chunk == NULL || chunk->size - chunk->used < size) {
        size_t room = size > CHUNK_SIZE ? size : CHUNK_SIZE;
        chunk = memory_resize(NULL, sizeof *chunk + room, 1); /* not zeroed: most of it may never be touched */
        *chunk = (struct chunk){.next = gathering->chunks, .size = room};
        gathering->chunks = chunk;
    }
    chunk->used += size;
    return chunk->bytes + chunk->used - size;
}

void gathering_start(struct gathering *gathering, struct store *store, const struct layout *layout, struct lists *lists,
                     const char *site_path)
{
    *gathering = (struct gathering){.store = store, .layout = layout, .lists = lists, .site_path = site_path};
    gathering->key_columns = row_key_columns(layout->kind);
}

void gathering_free(struct gathering *gathering)
{
    for (struct chunk *chunk = gathering->chunks, *next; chunk != NULL; chunk = next) {
        next = chunk->next;
        memory_free(chunk);
    }
    memory_free(gathering->rows);
    memory_free(gathering->slots);
    bytes_free(&gathering->packed);
    bytes_free(&gathering->scratch);
    *gathering = (struct gathering){0};
}

struct row_view row_view(const struct gathered_row *row)
{
    const unsigned char *at = row->bytes;
    struct row_view view;
    view.file = (uint32_t)number_next(&at);
    view.line = (uint32_t)number_next(&at);
    view.size = (size_t)number_next(&at);
    view.row = at;
    return view;
}

void gather_cells(const struct gathering *gathering, const struct gathered_row *row, struct cell *cells)
{
    struct row_view view = row_view(row);
    struct value values[COLUMNS_MOST];
    row_values(gathering->layout, view.row, view.row + view.size, values);
    row_cells(gathering->layout, gathering->store->names, values, cells);
}

/* ---- parsing ---- */

/* What the sink's functions need. */
struct parsing {
    struct gathering *gathering;
    uint32_t file_place;
    struct kept_file *file;
};

static void keep_row(void *context, uint32_t line, const struct cell *cells)
{
    struct parsing *parsing = context;
    struct gathering *gathering = parsing->gathering;
    const struct record_kind *kind = gathering->layout->kind;
    struct bytes *packed = &gathering->packed;
    packed->size = 0;
    row_pack(gathering->layout, gathering->store->names, cells, packed);

    unsigned char prefix[3 * NUMBER_BYTES_MOST], *end = number_put(prefix, parsing->file_place);
    end = number_put(number_put(end, line), packed->size);
    size_t prefix_size = (size_t)(end - prefix);
    unsigned char *bytes = chunk_take(gathering, prefix_size + packed->size);
    memcpy(bytes, prefix, prefix_size);
    memcpy(bytes + prefix_size, packed->data, packed->size);

    VECTOR_GROW(gathering->rows, gathering->count, gathering->capacity);
    gathering->rows[gathering->count++] = (struct gathered_row){
        .bytes = bytes,
        .at = row_at(kind, cells),
        .hash = row_hash(gathering->layout, gathering->key_columns, cells, &gathering->scratch) & HASH_BITS,
    };
    parsing->file->rows++;
}

static void keep_refusal(void *context, const struct refusal *refusal, const struct cell *cells)
{
    struct parsing *parsing = context;
    struct gathering *gathering = parsing->gathering;
    struct arena *arena = gathering->lists->arena;
    gathering->packed.size = 0;
    row_pack(gathering->layout, gathering->store->names, cells, &gathering->packed);
    file_refuses(parsing->file, (struct kept_refusal){
                                    .nature = refusal->to_end ? REFUSAL_TO_END : REFUSAL_OF_ROW,
                                    .line = refusal->line,
                                    .column = text_keep(arena, text_of(refusal->column)),
                                    .value = text_keep(arena, refusal->value),
                                    .reason = text_keep(arena, text_of(refusal->reason)),
                                    .cells = text_keep(arena, (struct text){(const char *)gathering->packed.data,
                                                                            gathering->packed.size}),
                                });
    parsing->file->rows++;
}

static void keep_warning(void *context, const char *text)
{
    struct parsing *parsing = context;
    file_warns(parsing->file, text_keep(parsing->gathering->lists->arena, text_of(text)));
}

/* Nothing is known of the file. */
static void forget(struct gathering *gathering, size_t place)
{
    struct kept_file *file = &gathering->lists->files[place];
    size_t kept = 0;
    bool has_rows = file->is_parsed && !file->is_parsed_whole;
    for (size_t i = 0; has_rows && i < gathering->count; i++)
        if (row_view(&gathering->rows[i]).file != place)
            gathering->rows[kept++] = gathering->rows[i];
    if (has_rows)
        gathering->count = kept;
    file->rows = file->repeated = 0;
    file->refusal_count = file->warning_count = 0;
    file->is_parsed = file->is_parsed_whole = file->settled = file->reads_to_end = true;
    file->refused = (struct text){0};
    file->size = 0;
}

static bool same_warnings(const struct kept_file *a, const struct kept_file *b)
{
    bool same = a->warning_count == b->warning_count;
    for (size_t i = 0; same && i < a->warning_count; i++)
        same = text_equal(a->warnings[i], b->warnings[i]);
    return same;
}

/* Whether the rows that the file had at the load before may stay unread. What is told once a file (a word that is
 * unknown, the first repeated rows) must not have been told of them: then no more than the header was warned of. */
static bool may_skip(const struct kept_file *file, const struct kept_file *was)
{
    return was->refused.data == NULL && was->settled && was->reads_to_end && same_warnings(file, was);
}

static void keep_known_rows(struct kept_file *file, struct kept_file *was)
{
    file->rows = was->rows;
    file->repeated = was->repeated;
    file->is_parsed_whole = false;
    for (size_t i = 0; i < was->refusal_count; i++)
        file_refuses(file, was->refusals[i]);
}

/* `was` may be NULL; else the bytes begin with what it was. */
static void parse(struct gathering *gathering, size_t place, struct file_bytes *bytes, struct kept_file *was)
{
    struct kept_file *file = &gathering->lists->files[place];
    struct parsing parsing = {gathering, (uint32_t)place, file};
    const struct log_sink sink = {&parsing, keep_row, keep_refusal, keep_warning};
    char why[WHY_SIZE];
    AUTO(log_reader)
    reader = log_start(gathering->layout->kind, file->path.data, &bytes->data, bytes->size, &sink, why);
    if (reader == NULL) {
        file->refused = text_keep(gathering->lists->arena, text_of(why));
        return;
    }
    if (was != NULL && may_skip(file, was) && log_skip(reader, was->size))
        keep_known_rows(file, was);
    log_rows(reader);
    file->size = bytes->size;
}

/* Takes everything that was known of the file. */
static void carry_over(struct kept_file *file, struct kept_file *was)
{
    struct kept_file now = *was;
    now.path = file->path;
    now.path_name = file->path_name;
    memcpy(now.digest, file->digest, DIGEST_SIZE);
    *file = now;
    file->is_unchanged = true;
    file->is_parsed = file->is_parsed_whole = false;
    was->refusals = NULL;
    was->warnings = NULL;
    was->refusal_count = was->warning_count = 0;
}

void gather_file(struct gathering *gathering, size_t place, struct kept_file *was)
{
    struct kept_file *file = &gathering->lists->files[place];
    struct file_bytes bytes;
    unsigned char known[DIGEST_SIZE];
    forget(gathering, place);
    if (!content_read(gathering->site_path, gathering->lists, file, &bytes))
        return;
    bool has_grown = was != NULL && was->size > 0 && was->size < bytes.size;
    content_digest(gathering->layout->kind, &bytes, has_grown ? was->size : bytes.size, known, file->digest);
    bool begins_so = was != NULL && memcmp(known, was->digest, DIGEST_SIZE) == 0;
    if (begins_so && !has_grown)
        carry_over(file, was);
    else
        parse(gathering, place, &bytes, begins_so ? was : NULL);
    memory_free(bytes.data);
}

/* ---- rows that stand there twice ---- */

static int compare_places(const struct gathered_row *a, const struct gathered_row *b)
{
    struct row_view left = row_view(a), right = row_view(b);
    if (left.file != right.file)
        return left.file < right.file ? -1 : 1;
    return (left.line > right.line) - (left.line < right.line);
}

static int compare_rows_by_place(const void *a, const void *b) { return compare_places(a, b); }

static void bring_into_order(struct gathering *gathering)
{
    for (size_t i = 1; i < gathering->count; i++) {
        if (compare_places(&gathering->rows[i - 1], &gathering->rows[i]) <= 0)
            continue;
        qsort(gathering->rows, gathering->count, sizeof *gathering->rows, compare_rows_by_place);
        return;
    }
}

static void make_slots(struct gathering *gathering)
{
    size_t slots = 16;
    while (slots < 2 * gathering->count)
        slots *= 2;
    memory_free(gathering->slots);
    gathering->slots = memory_new(slots * sizeof *gathering->slots);
    gathering->mask = (uint32_t)(slots - 1);
}

/* The slot with the row of that key, or the free one where it would go. */
static uint32_t *slot_of(const struct gathering *gathering, unsigned hash, const struct cell *cells)
{
    for (uint32_t at = hash & gathering->mask;; at = (at + 1) & gathering->mask) {
        uint32_t *slot = &gathering->slots[at];
        if (*slot == 0)
            return slot;
        const struct gathered_row *row = &gathering->rows[*slot - 1];
        struct cell other[COLUMNS_MOST];
        if (row->hash != hash)
            continue;
        gather_cells(gathering, row, other);
        if (row_same_key(gathering->layout->kind, cells, other))
            return slot;
    }
}

/* Most rows are alone with their hash and need no look at their cells. */
static uint32_t *slot_of_row(const struct gathering *gathering, const struct gathered_row *row)
{
    uint32_t at = row->hash & gathering->mask;
    struct cell cells[COLUMNS_MOST];
    for (; gathering->slots[at] != 0; at = (at + 1) & gathering->mask) {
        if (gathering->rows[gathering->slots[at] - 1].hash != row->hash)
            continue;
        gather_cells(gathering, row, cells);
        return slot_of(gathering, row->hash, cells);
    }
    return &gathering->slots[at];
}

struct gathered_row *gather_find(const struct gathering *gathering, const struct cell *cells, struct bytes *scratch)
{
    if (gathering->count == 0)
        return NULL;
    uint64_t hash = row_hash(gathering->layout, gathering->key_columns, cells, scratch);
    uint32_t slot = *slot_of(gathering, hash & HASH_BITS, cells);
    return slot == 0 ? NULL : &gathering->rows[slot - 1];
}

static bool same_values(const struct gathering *gathering, const struct gathered_row *a, const struct gathered_row *b)
{
    struct cell left[COLUMNS_MOST], right[COLUMNS_MOST];
    gather_cells(gathering, a, left);
    gather_cells(gathering, b, right);
    return row_same(gathering->layout->kind, left, right);
}

/* `row` has the key of `first`, which stands before it. */
static void meet(struct gathering *gathering, struct gathered_row *first, struct gathered_row *row)
{
    uint32_t first_file = row_view(first).file, file = row_view(row).file;
    row->state = ROW_REPEATED;
    if (first->state == ROW_CONFLICTS || !same_values(gathering, first, row))
        first->state = row->state = ROW_CONFLICTS;
    if (first_file != file)
        gathering->lists->files[first_file].settled = gathering->lists->files[file].settled = false;
}

/* A row that repeats the first one of its key conflicts as well if a later one does. */
static void spread_conflicts(struct gathering *gathering)
{
    for (size_t i = 0; i < gathering->count; i++) {
        struct gathered_row *row = &gathering->rows[i];
        if (row->state == ROW_REPEATED && gathering->rows[*slot_of_row(gathering, row) - 1].state == ROW_CONFLICTS)
            row->state = ROW_CONFLICTS;
    }
}

void gather_compare(struct gathering *gathering)
{
    bool conflicts = false, repeats = false;
    bring_into_order(gathering);
    make_slots(gathering);
    for (size_t i = 0; i < gathering->lists->count; i++)
        if (gathering->lists->files[i].is_parsed && gathering->lists->files[i].kind == gathering->layout->kind)
            gathering->lists->files[i].settled = true;
    for (size_t i = 0; i < gathering->count; i++) {
        struct gathered_row *row = &gathering->rows[i];
        row->state = ROW_STANDS;
        row->n = 0;
        uint32_t *slot = slot_of_row(gathering, row);
        if (*slot == 0)
            *slot = (uint32_t)i + 1;
        else
            meet(gathering, &gathering->rows[*slot - 1], row);
        conflicts = conflicts || row->state == ROW_CONFLICTS;
        repeats = repeats || row->state == ROW_REPEATED;
    }
    if (conflicts && repeats)
        spread_conflicts(gathering);
}

/* ---- telling ---- */

static void refuse_conflict(struct gathering *gathering, const struct gathered_row *row,
                            const struct gathered_row *other)
{
    struct arena *arena = gathering->lists->arena;
    struct row_view view = row_view(row), there = row_view(other);
    struct kept_file *file = &gathering->lists->files[view.file];
    struct cell cells[COLUMNS_MOST];
    AUTO_BYTES key = {0};
    gather_cells(gathering, row, cells);
    row_key_text(gathering->layout->kind, cells, &key);
    file_refuses(file, (struct kept_refusal){
                           .nature = REFUSAL_CONFLICT,
                           .line = view.line,
                           .reason = text_print(arena, "the key '%.*s' stands at %s:%u with other values",
                                                (int)key.size, (const char *)key.data,
                                                gathering->lists->files[there.file].path.data, there.line),
                           .cells = text_keep(arena, (struct text){(const char *)view.row, view.size}),
                       });
}

/* For the first row of each key with a conflict, the place + 1 of the first row that differs from it. */
static struct map *first_others(struct gathering *gathering)
{
    struct map *others = map_new();
    for (size_t i = 0; i < gathering->count; i++) {
        struct gathered_row *row = &gathering->rows[i];
        if (row->state != ROW_CONFLICTS)
            continue;
        uint32_t first = *slot_of_row(gathering, row);
        uint64_t *other = map_at(others, first);
        if (*other == 0 && !same_values(gathering, &gathering->rows[first - 1], row))
            *other = i + 1;
    }
    return others;
}

static void tell_conflicts(struct gathering *gathering)
{
    AUTO(map) others = first_others(gathering);
    for (size_t i = 0; i < gathering->count; i++) {
        const struct gathered_row *row = &gathering->rows[i];
        if (row->state != ROW_CONFLICTS)
            continue;
        uint32_t first = *slot_of_row(gathering, row);
        const struct gathered_row *other = &gathering->rows[first - 1];
        if (other == row || same_values(gathering, other, row))
            other = &gathering->rows[*map_find(others, first) - 1];
        refuse_conflict(gathering, row, other);
    }
}

enum { REPEATS_TOLD_MOST = 3 };

static void tell_repeat(struct gathering *gathering, const struct gathered_row *row)
{
    struct row_view view = row_view(row), first = row_view(&gathering->rows[*slot_of_row(gathering, row) - 1]);
    struct kept_file *files = gathering->lists->files;
    if (++files[view.file].repeated > REPEATS_TOLD_MOST)
        return;
    file_warns(&files[view.file],
               text_print(gathering->lists->arena, "%s:%u: the same row as %s:%u, loaded once",
                          files[view.file].path.data, view.line, files[first.file].path.data, first.line));
}

static int compare_refusals(const void *a, const void *b)
{
    uint32_t left = ((const struct kept_refusal *)a)->line, right = ((const struct kept_refusal *)b)->line;
    return (left > right) - (left < right);
}

void gather_tell(struct gathering *gathering)
{
    struct lists *lists = gathering->lists;
    for (size_t i = 0; i < gathering->count; i++)
        if (gathering->rows[i].state == ROW_REPEATED)
            tell_repeat(gathering, &gathering->rows[i]);
    tell_conflicts(gathering);
    for (size_t i = 0; i < lists->count; i++) {
        struct kept_file *file = &lists->files[i];
        if (file->kind != gathering->layout->kind || !file->is_parsed)
            continue;
        if (file->repeated > REPEATS_TOLD_MOST)
            file_warns(file, text_print(lists->arena, "%s: %llu more rows stand in the logs before, loaded once",
                                        file->path.data, (unsigned long long)(file->repeated - REPEATS_TOLD_MOST)));
        if (file->refusal_count > 0)
            qsort(file->refusals, file->refusal_count, sizeof *file->refusals, compare_refusals);
    }
}
