/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A log file becomes rows of typed cells and refusals. The store decides what is new; here each row stands for itself.
 */
#ifndef ASSIZE_INTAKE_LOG_H
#define ASSIZE_INTAKE_LOG_H

#include <stdbool.h>
#include <stdint.h>

#include "base/text.h"
#include "intake/encoding.h"
#include "records/cell.h"
#include "records/kinds.h"

/* A refused row. The text printed is `file:line: column: value: reason`. All of it is valid during the call only. */
struct refusal {
    uint32_t line;
    const char *column; /* NULL where no single column is at fault */
    struct text value;  /* as written, cut at 64 characters; absent where there is none */
    const char *reason; /* in words */
    bool to_end; /* what follows it in the file cannot be read: a quote is never closed, or a second header is wrong */
};

/* What a reader hands over, in the order of the file. `cells` has kind->column_count entries and is valid during the
 * call only; texts borrow from the file's buffer. For a refused row `cells` holds those cells that could be typed (the
 * others absent): the store needs its key, and the audit its sequence. */
struct log_sink {
    void *context;
    void (*row)(void *context, uint32_t line, const struct cell *cells);
    void (*refused_row)(void *context, const struct refusal *refusal, const struct cell *cells);
    void (*warning)(void *context, const char *text); /* complete, once per file: unknown columns, Windows-1252 … */
};

/* Reads the log at `path` (shown as `shown` in messages) of kind `kind` from `bytes` (owned by the caller, changed in
 * place or replaced). False with `why` in words if the file as a whole is refused: no header, a required column
 * missing, a column twice, no text. One refusal a row: the first cell at fault. */
bool log_read(const struct record_kind *kind, const char *shown, char **bytes, size_t size, const struct log_sink *sink,
              char why[WHY_SIZE]);

/* ---- the same in steps, for who knows the first rows already ---- */

/* The header is read, and the sink has its warnings. NULL where log_read is false. Borrows bytes, kind, shown, sink. */
struct log_reader;
struct log_reader *log_start(const struct record_kind *kind, const char *shown, char **bytes, size_t size,
                             const struct log_sink *sink, char why[WHY_SIZE]);
void log_reader_free(struct log_reader *reader);
OWNER(log_reader);

/* Goes on behind the first `size` bytes, which were read before with all their quotes closed. False, and nothing is
 * done, if what follows them cannot be read as it would be behind its rows: where the file is not UTF-8, or no line
 * feed stands before it. Before log_rows. */
bool log_skip(struct log_reader *reader, size_t size);
/* Gives the rows from here to the end to the sink. */
void log_rows(struct log_reader *reader);

#endif
