/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside of the reader of logs: its state, what a row of the file comes to, and what quotes may have made of several.
 */
#ifndef ASSIZE_INTAKE_LOG_INSIDE_H
#define ASSIZE_INTAKE_LOG_INSIDE_H

#include "intake/csv.h"
#include "intake/header.h"
#include "intake/log.h"

enum { REASON_SIZE = 512, SHOWN_VALUE = 64 /* letters */ };

struct log_reader {
    const struct record_kind *kind;
    const char *shown;
    const struct log_sink *sink;
    char *bytes;   /* of the whole file */
    bool is_plain; /* they are UTF-8 as the file has them */
    struct csv_reader csv;
    struct header header;
    struct cell cells[COLUMNS_MOST];
    struct refusal refusal; /* of the row at hand; reason NULL: none */
    char reason[REASON_SIZE];
    bool warned_unnamed;  /* something stood below an empty header cell */
    struct names *warned; /* words outside a column's list, each told once a file */
};

/* log_row.c */
void log_warn(const struct log_reader *reader, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* The first thing wrong with a row is the one that is told. */
void log_refuse(struct log_reader *reader, const char *column, struct text value, const char *reason);
/* Fills in cells and refusal from the row that csv has read; `read` is what csv_next said of it. */
void log_parse_row(struct log_reader *reader, enum csv_row read, uint32_t line);
void log_tell_row(const struct log_reader *reader, uint32_t line); /* what was parsed goes to the sink */
/* The row that was parsed, and cannot be read; `least` as in header.h. */
bool log_may_be_header(const struct log_reader *reader, size_t least);

/* log_quotes.c: rows that stand within a cell of the row that csv has read, for a quote is missing or too many. */
void log_refuse_swallowed_rows(struct log_reader *reader, uint32_t line);
void log_warn_of_swallowed_rows(struct log_reader *reader, uint32_t line);
bool log_header_swallows_rows(const struct log_reader *reader);

#endif
