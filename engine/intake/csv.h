/* SPDX-License-Identifier: GPL-3.0-or-later */
/* CSV (RFC 4180 and what spreadsheets make of it): rows of cells out of a buffer of UTF-8, with the line each row
 * begins on.
 *
 * LF, CRLF and a lone CR end a line; quoted cells may hold commas, doubled quotes and line breaks; blanks (spaces and
 * tabs) around a cell or before its opening quote are dropped; blank lines and lines of nothing but commas are skipped.
 * Cells borrow from the buffer; quoted cells with doubled quotes are unfolded in place, so the buffer must be writable.
 * A quote inside a cell that does not begin with one is a character like any other. Where text follows a closing quote
 * on a later line, the opening quote is taken for the stray one: the row ends with the line of that, and the lines
 * between the two are rows of their own. */
#ifndef ASSIZE_INTAKE_CSV_H
#define ASSIZE_INTAKE_CSV_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/text.h"

struct csv_reader {
    char *at, *end;
    uint32_t line;      /* of the next byte, from 1 */
    struct text *cells; /* of the last row */
    size_t cell_count, cell_capacity;
    bool keeps_raw;   /* set after csv_start: fill `raw` too */
    struct text *raw; /* of the same cells: all that stands between the dividers, quotes and blanks included */
    size_t raw_capacity;
};

enum csv_row {
    CSV_ROW, /* cells[] is filled */
    CSV_END,
    CSV_BAD_QUOTE, /* text after a closing quote: this row is to be refused; cells[] up to there */
    CSV_OPEN_QUOTE /* a quote that is never closed: from this row to the end is one row, to be refused */
};

void csv_start(struct csv_reader *reader, char *bytes, size_t size);
enum csv_row csv_next(struct csv_reader *reader, uint32_t *line); /* *line: the row's first physical line */
void csv_stop(struct csv_reader *reader);

#endif
