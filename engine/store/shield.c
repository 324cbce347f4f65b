/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/shield.h"

#include "base/map.h"

/* Refused rows with the same readable cells: their hashes, each with the place of the first such row. */
struct pattern {
    uint32_t columns;
    bool of_file; /* shields records of its own file only */
    struct map *places;
};

struct shield {
    const struct layout *layout;
    uint32_t key_columns;
    struct pattern *patterns;
    size_t count, capacity;
    struct map *cut_files; /* names of files that swallow their rest */
    struct bytes scratch;
};

static uint64_t pattern_key(struct shield *shield, const struct pattern *pattern, uint32_t file_name,
                            const struct cell *cells)
{
    uint64_t hash = row_hash(shield->layout, pattern->columns, cells, &shield->scratch);
    return map_key((uint32_t)hash, (uint32_t)(hash >> 32), pattern->of_file ? file_name : 0, 0, 0);
}

static struct pattern *pattern_for(struct shield *shield, uint32_t columns, bool of_file)
{
    for (size_t i = 0; i < shield->count; i++)
        if (shield->patterns[i].columns == columns && shield->patterns[i].of_file == of_file)
            return &shield->patterns[i];
    VECTOR_GROW(shield->patterns, shield->count, shield->capacity);
    struct pattern *pattern = &shield->patterns[shield->count++];
    *pattern = (struct pattern){columns, of_file, map_new()};
    return pattern;
}

/* A part of the key that may be left out is missing for good, unless it is the very cell at fault. */
static bool is_key_whole(const struct record_kind *kind, const struct kept_refusal *refusal, const struct cell *cells)
{
    for (size_t i = 0; i < kind->column_count; i++) {
        const struct column *column = &kind->columns[i];
        bool may_miss = !(column->flags & COLUMN_REQUIRED) && !text_is(refusal->column, column->name);
        if ((column->flags & COLUMN_KEY) && !cells[i].present && !may_miss)
            return false;
    }
    return true;
}

static uint32_t readable_columns(const struct record_kind *kind, const struct cell *cells)
{
    uint32_t columns = 0;
    for (size_t i = 0; i < kind->column_count; i++)
        columns |= (uint32_t)cells[i].present << i;
    return columns;
}

static void add_place(struct shield *shield, uint32_t columns, bool of_file, const struct kept_file *file,
                      const struct kept_refusal *refusal, const struct cell *cells)
{
    struct pattern *pattern = pattern_for(shield, columns, of_file);
    uint64_t *place = map_at(pattern->places, pattern_key(shield, pattern, file->path_name, cells));
    if (*place == 0)
        *place = (uint64_t)file->path_name << 32 | refusal->line;
}

static void add_refusal(struct shield *shield, const struct store *store, const struct kept_file *file,
                        const struct kept_refusal *refusal)
{
    struct value values[COLUMNS_MOST];
    struct cell cells[COLUMNS_MOST];
    const unsigned char *packed = (const unsigned char *)refusal->cells.data;
    if (packed == NULL || row_values(shield->layout, packed, packed + refusal->cells.size, values) == NULL)
        return;
    row_cells(shield->layout, store->names, values, cells);
    uint32_t readable = readable_columns(shield->layout->kind, cells);
    bool whole = is_key_whole(shield->layout->kind, refusal, cells);
    uint32_t columns = whole ? shield->key_columns : readable & shield->key_columns;
    if (columns == 0)
        columns = readable;
    if (columns == 0)
        return;
    add_place(shield, columns, true, file, refusal, cells);
    if (whole)
        add_place(shield, columns, false, file, refusal, cells);
}

struct shield *shield_new(const struct store *store, const struct layout *layout, const struct lists *lists)
{
    struct shield *shield = memory_new(sizeof *shield);
    shield->layout = layout;
    shield->key_columns = row_key_columns(layout->kind);
    shield->cut_files = map_new();
    for (size_t i = 0; i < lists->count; i++) {
        const struct kept_file *file = &lists->files[i];
        if (file->kind != layout->kind)
            continue;
        if (!file->reads_to_end)
            *map_at(shield->cut_files, map_key(file->path_name, 0, 0, 0, 0)) = 1;
        for (size_t j = 0; j < file->refusal_count; j++)
            add_refusal(shield, store, file, &file->refusals[j]);
    }
    return shield;
}

void shield_free(struct shield *shield)
{
    if (shield == NULL)
        return;
    for (size_t i = 0; i < shield->count; i++)
        map_free(shield->patterns[i].places);
    memory_free(shield->patterns);
    map_free(shield->cut_files);
    bytes_free(&shield->scratch);
    memory_free(shield);
}

/* A refused row with the whole key comes first; among others, the one that stands first. */
static bool find_among(struct shield *shield, bool of_file, uint32_t file_name, const struct cell *cells,
                       struct shield_place *place)
{
    uint64_t best = 0;
    bool is_best_whole = false;
    for (size_t i = 0; i < shield->count && !is_best_whole; i++) {
        const struct pattern *pattern = &shield->patterns[i];
        if (pattern->of_file != of_file)
            continue;
        const uint64_t *found = map_find(pattern->places, pattern_key(shield, pattern, file_name, cells));
        if (found == NULL)
            continue;
        is_best_whole = pattern->columns == shield->key_columns;
        if (best == 0 || is_best_whole || *found < best)
            best = *found;
    }
    *place = (struct shield_place){(uint32_t)(best >> 32), (uint32_t)best};
    return best != 0;
}

bool shield_find(struct shield *shield, uint32_t file_name, uint32_t line, const struct cell *cells,
                 struct shield_place *place)
{
    if (find_among(shield, true, file_name, cells, place))
        return true;
    *place = (struct shield_place){file_name, line};
    if (map_find(shield->cut_files, map_key(file_name, 0, 0, 0, 0)) != NULL)
        return true;
    return find_among(shield, false, file_name, cells, place);
}
