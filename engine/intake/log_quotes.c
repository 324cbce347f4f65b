/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quotes that make one cell of several rows. */
#include <string.h>

#include "intake/log_inside.h"

struct probing {
    const struct record_kind *kind;
    bool is_whole; /* the line has a cell for each of the header */
    bool found;
};

static void find_row(void *context, uint32_t line, const struct cell *cells)
{
    (void)line, (void)cells;
    ((struct probing *)context)->found = true;
}

/* The row may be one that is refused by itself, and the other quote may stand in the middle of it: it was one where its
 * time or day is in its place, or, in a line with all cells, another that is no mere word. */
static void find_part_of_row(void *context, const struct refusal *refusal, const struct cell *cells)
{
    (void)refusal;
    struct probing *probing = context;
    int event = probing->kind->event_column;
    probing->found = event >= 0 && cells[event].present;
    for (size_t i = 0; probing->is_whole && i < probing->kind->column_count; i++)
        probing->found = probing->found || (cells[i].present && !cell_takes_any(probing->kind->columns[i].type));
}

/* Whether a line of a cell would be a row, if it stood by itself. */
static bool is_row(const struct log_reader *reader, struct text line)
{
    struct probing probing = {.kind = reader->kind};
    uint32_t number;
    const struct log_sink sink = {.context = &probing, .row = find_row, .refused_row = find_part_of_row};
    struct log_reader probe = {
        .kind = reader->kind, .shown = reader->shown, .sink = &sink, .header = reader->header, .warned_unnamed = true};
    char *bytes = memory_new(line.size + 1); /* the reader of rows may change them */
    memcpy(bytes, line.data, line.size);
    csv_start(&probe.csv, bytes, line.size);
    if (csv_next(&probe.csv, &number) == CSV_ROW) {
        probing.is_whole = probe.csv.cell_count == reader->header.width;
        log_parse_row(&probe, CSV_ROW, number);
        log_tell_row(&probe, number);
        probing.found = probing.found || log_may_be_header(&probe, probing.is_whole ? HEADER_LIKELY : HEADER_SURE);
    }
    csv_stop(&probe.csv);
    names_free(probe.warned);
    memory_free(bytes);
    return probing.found;
}

static bool ends_line(char c) { return c == '\n' || c == '\r'; }

typedef bool line_function(const struct log_reader *reader, struct text line);

/* Whether one of the lines behind the cell's first is such. */
static bool any_line(const struct log_reader *reader, struct text cell, line_function *is_such)
{
    size_t begin = 0;
    bool is_first = true;
    for (size_t i = 0; i <= cell.size; i++) {
        if (i < cell.size && !ends_line(cell.data[i]))
            continue;
        if (!is_first && i > begin && is_such(reader, (struct text){cell.data + begin, i - begin}))
            return true;
        is_first = false;
        begin = i + 1;
    }
    return false;
}

/* Nobody writes a whole row into a note: a stray quote made a cell of it, and it would be lost in silence. */
void log_refuse_swallowed_rows(struct log_reader *reader, uint32_t line)
{
    const struct csv_reader *csv = &reader->csv;
    bool may_span = csv->line - line > 1 || csv->at == csv->end; /* no line end need stand behind the last row */
    for (size_t i = 0; may_span && i < csv->cell_count; i++) {
        if (!any_line(reader, csv->cells[i], is_row))
            continue;
        log_refuse(
            reader, header_column(&reader->header, reader->kind, i), (struct text){0},
            "lines that are rows of their own stand between the quotes of this cell: a quote is missing or too many");
        return;
    }
}

/* The stray quotes may stand in any cell, so that half of them are enough. */
static bool looks_like_row(const struct log_reader *reader, struct text line)
{
    size_t half = reader->header.width / 2, dividers = 0;
    for (size_t i = 0; i < line.size; i++)
        dividers += line.data[i] == ',';
    return dividers >= (half > 2 ? half : 2);
}

/* Two stray quotes on different lines make one cell of all that stands between them. */
void log_warn_of_swallowed_rows(struct log_reader *reader, uint32_t line)
{
    const struct csv_reader *csv = &reader->csv;
    uint32_t lines = csv->line - line;
    bool holds = false;
    for (size_t i = 0; lines > 1 && i < csv->cell_count && !holds; i++)
        holds = any_line(reader, csv->cells[i], looks_like_row);
    if (holds)
        log_warn(
            reader,
            "%u: this row runs over %u lines, and some look like rows of their own: a quote may be missing or too many",
            line, lines);
}

/* A name may run over lines, but no row stands in it: cells, one of which is a figure. */
static bool is_row_in_name(const struct log_reader *reader, struct text line)
{
    size_t begin = 0, cells = 0;
    bool has_figure = false;
    (void)reader;
    for (size_t i = 0; i <= line.size; i++) {
        if (i < line.size && line.data[i] != ',')
            continue;
        has_figure = has_figure || header_is_figure((struct text){line.data + begin, i - begin});
        cells++;
        begin = i + 1;
    }
    return has_figure && cells > 1;
}

bool log_header_swallows_rows(const struct log_reader *reader)
{
    const struct csv_reader *csv = &reader->csv;
    for (size_t i = 0; i < csv->cell_count; i++)
        if (any_line(reader, csv->cells[i], is_row_in_name))
            return true;
    return false;
}
