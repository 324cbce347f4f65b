/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Gathers the rows of a kind at a site: parses its files, packs the rows, and finds which stand there twice.
 *
 * A row takes 24 bytes and its packed cells; nothing is allocated for a single row. */
#ifndef ASSIZE_STORE_GATHER_H
#define ASSIZE_STORE_GATHER_H

#include "store/lists.h"

enum row_state {
    ROW_STANDS,    /* to be loaded */
    ROW_REPEATED,  /* the same row stands before */
    ROW_CONFLICTS, /* its key stands in another row with other values */
    ROW_KNOWN,     /* the store has it so already */
};

struct gathered_row {
    const unsigned char *bytes; /* the file's place on the list, the line, the size of the packed row, the packed row */
    int64_t at;                 /* row_at */
    unsigned hash : 30, state : 2;
    uint32_t n; /* its record's number, once it is known; else 0 */
};

/* What `bytes` says. */
struct row_view {
    uint32_t file, line;
    const unsigned char *row;
    size_t size;
};
struct row_view row_view(const struct gathered_row *row);

struct gathering {
    struct store *store;
    const struct layout *layout;
    struct lists *lists;   /* of the site; parsed files get their counts, refusals and warnings */
    const char *site_path; /* of the folder */
    bool lacks_files;      /* that the load before had: nothing says yet what became of their records */
    uint32_t key_columns;
    struct gathered_row *rows; /* by file and line */
    size_t count, capacity;
    struct chunk *chunks; /* the bytes of all rows */
    uint32_t *slots;      /* hash table over rows; 0 free, else the row's place + 1 */
    uint32_t mask;
    struct bytes packed, scratch;
};

void gathering_start(struct gathering *gathering, struct store *store, const struct layout *layout, struct lists *lists,
                     const char *site_path);
void gathering_free(struct gathering *gathering);
#define AUTO_GATHERING __attribute__((cleanup(gathering_free))) struct gathering

/* Reads the file at `place` of the list and parses what is not known of it from the load before, when it was `was`: all
 * if that is NULL, nothing if the content is the same; if the file only grew, what was added, unless the rows before
 * have to do with it. What is known is carried over. A file that is refused as a whole, or cannot be read, gets
 * file->refused. May be called again for the same file: what it gave before is forgotten. */
void gather_file(struct gathering *gathering, size_t place, struct kept_file *was);

/* Finds repeated rows and conflicts over all rows gathered so far: sets states, and which files are settled. May be
 * called again after more files. */
void gather_compare(struct gathering *gathering);

/* Makes refusals of the conflicts and warnings of the repeats; once, after the last gather_compare. */
void gather_tell(struct gathering *gathering);

/* The row with the key of `cells` that stands first, or NULL. Its state is not ROW_REPEATED. */
struct gathered_row *gather_find(const struct gathering *gathering, const struct cell *cells, struct bytes *scratch);
void gather_cells(const struct gathering *gathering, const struct gathered_row *row, struct cell *cells);

#endif
