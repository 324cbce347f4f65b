/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shelf: records of a kind, found by a key and a time. Sorted once, then only read. */
#ifndef ASSIZE_TIMELINE_SHELF_H
#define ASSIZE_TIMELINE_SHELF_H

#include "base/calendar.h"
#include "base/memory.h"
#include "records/cell.h"

struct record { /* of any kind but tests and controls */
    const struct cell *cells;
    moment at;     /* of its event (a date: its midnight); 0 where the kind has none */
    uint32_t file; /* rank of its path among the site's files; see history_file_path */
    uint32_t line;
};

struct shelf_entry {
    uint64_t key; /* map_key of the ids it is found by */
    moment at;    /* of a kind with dates: midnight of its day */
    const struct record *record;
};

struct shelf {
    struct shelf_entry *entries; /* by key, at (missing seconds as :00), file and line */
    size_t count, capacity;
};

struct shelf_range { /* the entries of one key */
    const struct shelf_entry *first, *end;
};

void shelf_add(struct shelf *shelf, uint64_t key, moment at, const struct record *record);
void shelf_sort(struct shelf *shelf);
moment shelf_midnight(day_number day);
day_number shelf_day(const struct shelf_entry *entry); /* the date of a midnight */
struct shelf_range shelf_find(const struct shelf *shelf, uint64_t key);
void shelf_clear(struct shelf *shelf);

/* The latest entry of times at or before a run (an entry in the run's minute counts as before it), or NULL. */
const struct shelf_entry *shelf_latest(struct shelf_range range, moment run);
/* The first entry that can be at or after a run, going by the minute; range.end if there is none. */
const struct shelf_entry *shelf_from(struct shelf_range range, moment run);
/* The latest entry of days up to `day`, or NULL. */
const struct shelf_entry *shelf_latest_day(struct shelf_range range, day_number day);

#endif
