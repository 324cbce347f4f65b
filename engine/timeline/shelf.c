/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "timeline/shelf.h"

#include <stdlib.h>

void shelf_add(struct shelf *shelf, uint64_t key, moment at, const struct record *record)
{
    VECTOR_GROW(shelf->entries, shelf->count, shelf->capacity);
    shelf->entries[shelf->count++] = (struct shelf_entry){key, at, record};
}

static int by_key_and_time(const void *a, const void *b)
{
    const struct shelf_entry *x = a, *y = b;
    if (x->key != y->key)
        return x->key < y->key ? -1 : 1;
    if (moment_seconds(x->at) != moment_seconds(y->at))
        return moment_seconds(x->at) < moment_seconds(y->at) ? -1 : 1;
    if (x->record->file != y->record->file)
        return x->record->file < y->record->file ? -1 : 1;
    return x->record->line < y->record->line ? -1 : x->record->line > y->record->line;
}

moment shelf_midnight(day_number day) { return moment_make((int64_t)day * 86400, false); }

day_number shelf_day(const struct shelf_entry *entry) { return (day_number)(moment_seconds(entry->at) / 86400); }

void shelf_sort(struct shelf *shelf)
{
    if (shelf->count)
        qsort(shelf->entries, shelf->count, sizeof *shelf->entries, by_key_and_time);
}

/* The first entry whose key is at least `key`. */
static size_t lower_bound(const struct shelf *shelf, uint64_t key)
{
    size_t low = 0, high = shelf->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (shelf->entries[middle].key < key)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

struct shelf_range shelf_find(const struct shelf *shelf, uint64_t key)
{
    if (!shelf->count)
        return (struct shelf_range){NULL, NULL};
    size_t first = lower_bound(shelf, key), end = key == UINT64_MAX ? shelf->count : lower_bound(shelf, key + 1);
    return (struct shelf_range){shelf->entries + first, shelf->entries + end};
}

void shelf_clear(struct shelf *shelf)
{
    memory_free(shelf->entries);
    *shelf = (struct shelf){0};
}

/* The number of entries of the range up to `at`, which must have seconds: then the order by seconds alone decides. */
static size_t count_up_to(struct shelf_range range, moment at)
{
    size_t low = 0, high = (size_t)(range.end - range.first);
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (range.first[middle].at <= at)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

const struct shelf_entry *shelf_latest(struct shelf_range range, moment run)
{
    /* All entries up to the end of the run's minute; of that minute those that are exactly later fall out again. */
    int64_t minute = moment_seconds(run) / 60;
    size_t count = count_up_to(range, moment_make(minute * 60 + 59, true));
    while (count && moment_compare(range.first[count - 1].at, run) > 0)
        count--;
    return count ? &range.first[count - 1] : NULL;
}

const struct shelf_entry *shelf_from(struct shelf_range range, moment run)
{
    size_t before = count_up_to(range, moment_make(moment_seconds(run) / 60 * 60 - 1, true));
    return before ? range.first + before : range.first; /* of none both are NULL */
}

const struct shelf_entry *shelf_latest_day(struct shelf_range range, day_number day)
{
    size_t count = count_up_to(range, moment_make((int64_t)day * 86400, true));
    return count ? &range.first[count - 1] : NULL;
}
