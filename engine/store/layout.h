/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How the records of a kind lie in this store.
 *
 * A kind's columns have places, 0, 1, 2 …: those of its SQL table, where a column that a later release adds comes last.
 * Rows are packed by place, so what was packed once (and hashed into the chain) stays readable when kinds gain columns.
 *
 * A packed row: the number of a bit map of the places that are present, then their values in the order of places: a
 * number (folded) for dates, times, whole numbers, yes/no, and for ids and words their number in the names table; for
 * all others the text as written, behind its length. The same cells always give the same bytes. */
#ifndef ASSIZE_STORE_LAYOUT_H
#define ASSIZE_STORE_LAYOUT_H

#include <sqlite3.h>
#include <stdbool.h>
#include <stdint.h>

#include "records/cell.h"
#include "records/kinds.h"
#include "store/bytes.h"

struct layout {
    const struct record_kind *kind;
    int count;                   /* of places */
    int count_at_first;          /* of those that the table was made with; the others were added */
    int column_at[COLUMNS_MOST]; /* the column at a place */
    int place_of[COLUMNS_MOST];  /* of a column; -1: this store does not have it yet */
    uint64_t hash_key;           /* of row_hash (text_hash) */
    uint32_t kind_name;          /* the kind's name in the names table, which stands for it in links and history */
};

/* Whether the store keeps a column as a number of the names table, or as text as written; else it is a plain number. */
static inline bool column_is_named(const struct column *column)
{
    return (column->type == CELL_ID && !(column->flags & COLUMN_PLENTIFUL)) || column->type == CELL_WORD;
}

static inline bool column_is_text(const struct column *column)
{
    return (column->type == CELL_ID && (column->flags & COLUMN_PLENTIFUL)) || column->type == CELL_NUMBER ||
           column->type == CELL_RESULT || column->type == CELL_WORDS || column->type == CELL_TEXT;
}

/* Appends the packed row; ids and words are added to `names`. */
void row_pack(const struct layout *layout, struct names *names, const struct cell *cells, struct bytes *out);

/* The value at a place of a packed row. */
struct value {
    bool present;
    int64_t whole;
    struct text text;
};
/* Fills layout->count values; texts borrow from the row. The place behind the row, or NULL if it is damaged. */
const unsigned char *row_values(const struct layout *layout, const unsigned char *row, const unsigned char *end,
                                struct value *values);

/* The cell of a column that the value stands for. */
struct cell value_cell(const struct column *column, const struct names *names, struct value value);

/* Makes cells (kind->column_count of them) out of values. Cells of ids and words have both number and text, yes/no too;
 * dates, times and whole numbers have no text. */
void row_cells(const struct layout *layout, const struct names *names, const struct value *values, struct cell *cells);

/* The same out of the columns of a SQL row, the first place standing in column `first`. row_pack_sql is false if a
 * column does not have the type it was written with. */
void row_cells_sql(const struct layout *layout, const struct names *names, sqlite3_stmt *row, int first,
                   struct cell *cells);
bool row_pack_sql(const struct layout *layout, sqlite3_stmt *row, int first, struct bytes *out);

/* Of the cells' event: a moment or a day number, or 0 for kinds without one, and where it could not be read. */
int64_t row_at(const struct record_kind *kind, const struct cell *cells);
moment row_moment(const struct record_kind *kind, const struct cell *cells); /* a date: its midnight; MOMENT_ABSENT */

/* Whether two rows have the same key, or the same values, once typed. */
bool row_same_key(const struct record_kind *kind, const struct cell *a, const struct cell *b);
bool row_same(const struct record_kind *kind, const struct cell *a, const struct cell *b);
/* Whether a cell that had a value has another or none: filling an empty cell is no amendment. */
bool row_amends(const struct record_kind *kind, const struct cell *before, const struct cell *after);

/* A hash of the cells of the columns in `columns` (a bit each); the same for equal cells, as long as the store is open.
 * `scratch` is used up. */
uint64_t row_hash(const struct layout *layout, uint32_t columns, const struct cell *cells, struct bytes *scratch);
uint32_t row_key_columns(const struct record_kind *kind); /* a bit for each column of the key */

/* "T-0104", "L1 hba1c-strip reagent": the key's cells as recorded, absent ones left out. Appended to `out`. */
void row_key_text(const struct record_kind *kind, const struct cell *cells, struct bytes *out);

#endif
