/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/log.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/utf8.h"
#include "intake/csv.h"
#include "intake/header.h"

enum {
    REASON_SIZE = 512,
    SHOWN_VALUE = 64,
    WARNING_SIZE = 4608,
    COLUMNS_MOST_READ = 1000,
};

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

__attribute__((format(printf, 2, 3))) static void warn(const struct log_reader *reader, const char *format, ...)
{
    char text[WARNING_SIZE];
    int size = snprintf(text, sizeof text, "%s:", reader->shown);
    if (size < 0 || (size_t)size >= sizeof text)
        return;
    va_list values;
    va_start(values, format);
    vsnprintf(text + size, sizeof text - (size_t)size, format, values);
    va_end(values);
    if (reader->sink->warning != NULL)
        reader->sink->warning(reader->sink->context, text);
}

/* The first thing wrong with a row is the one that is told. */
static void refuse(struct log_reader *reader, const char *column, struct text value, const char *reason)
{
    if (reader->refusal.reason != NULL)
        return;
    reader->refusal.column = column;
    reader->refusal.value = value.size > 0 ? utf8_cut(value, SHOWN_VALUE) : (struct text){0};
    reader->refusal.reason = reason;
}

/* "expected reagent or control", "expected one of a, b, c". */
static const char *expected_words(struct log_reader *reader, const char *const *words)
{
    size_t count = 0;
    while (words[count] != NULL)
        count++;
    int size = snprintf(reader->reason, REASON_SIZE, count > 2 ? "expected one of " : "expected ");
    for (size_t i = 0; i < count && size < REASON_SIZE; i++) {
        const char *divider = i + 1 == count ? "" : count == 2 ? " or " : ", ";
        size += snprintf(reader->reason + size, (size_t)(REASON_SIZE - size), "%s%s", words[i], divider);
    }
    return reader->reason;
}

static void warn_of_unknown_words(struct log_reader *reader, const struct column *column, struct text text,
                                  uint32_t line)
{
    struct text word;
    while (cell_unknown_word(column, &text, &word)) {
        if (reader->warned == NULL)
            reader->warned = names_new();
        if (names_find(reader->warned, word) != 0)
            continue;
        names_add(reader->warned, word);
        const char *nearest = text_nearest(word, column->words);
        warn(reader, "%u: %s: %.*s: unknown word%s%s", line, column->name, TEXT_FORMAT(utf8_cut(word, SHOWN_VALUE)),
             nearest != NULL ? ", the nearest known is " : "", nearest != NULL ? nearest : "");
    }
}

static void take_cell(struct log_reader *reader, int place, struct text text, uint32_t line)
{
    const struct column *column = &reader->kind->columns[place];
    struct cell *cell = &reader->cells[place];
    const char *why;
    if (!cell_parse(column, text, cell, &why)) {
        *cell = (struct cell){0};
        refuse(reader, column->name, text, column->type == CELL_WORD ? expected_words(reader, column->words) : why);
    } else if (column->type == CELL_WORDS) {
        warn_of_unknown_words(reader, column, text, line);
    }
}

/* What stands below an empty header cell is left out, but not in silence. */
static void pass_over(struct log_reader *reader, size_t place, uint32_t line)
{
    if (!header_is_unnamed(&reader->header, place) || reader->warned_unnamed)
        return;
    reader->warned_unnamed = true;
    warn(reader, "%u: column %zu has no name; what stands in it is left out", line, place + 1);
}

static void take_cells(struct log_reader *reader, uint32_t line)
{
    const struct csv_reader *csv = &reader->csv;
    size_t count = csv->cell_count < reader->header.width ? csv->cell_count : reader->header.width;
    if (csv->cell_count > reader->header.width)
        refuse(reader, NULL, csv->cells[reader->header.width], "more cells than the header");
    for (size_t i = 0; i < count; i++) {
        int place = reader->header.places[i];
        if (csv->cells[i].size == 0)
            continue;
        if (place >= 0)
            take_cell(reader, place, csv->cells[i], line);
        else
            pass_over(reader, i, line);
    }
}

static void check_required(struct log_reader *reader)
{
    const struct record_kind *kind = reader->kind;
    for (size_t i = 0; i < kind->column_count; i++)
        if ((kind->columns[i].flags & COLUMN_REQUIRED) && !reader->cells[i].present)
            refuse(reader, kind->columns[i].name, (struct text){0}, "required, but empty");
}

/* A control lot has a row a level; a reagent lot has no levels. */
static void check_level_of_lot(struct log_reader *reader)
{
    const struct cell *use = &reader->cells[COL_LOTS_use], *level = &reader->cells[COL_LOTS_level];
    if (reader->kind->id != KIND_LOTS || !use->present)
        return;
    bool is_control = text_is(use->text, "control");
    if (is_control && !level->present)
        refuse(reader, "level", level->text, "a control lot needs a level");
    if (!is_control && level->present)
        refuse(reader, "level", level->text, "a reagent lot has no level");
}

/* A row whose quotes are wrong: the cells before the fault stand, the rest is unknown. */
static void refuse_quotes(struct log_reader *reader, enum csv_row read)
{
    const char *column = header_column(&reader->header, reader->kind, reader->csv.cell_count);
    const char *reason = read == CSV_OPEN_QUOTE
                             ? "a quote that is never closed; nothing from here to the end of the file can be read"
                             : "text after a closing quote; quotes inside a quoted cell must be doubled";
    refuse(reader, column, (struct text){0}, reason);
    reader->refusal.to_end = read == CSV_OPEN_QUOTE;
}

static void refuse_swallowed_rows(struct log_reader *reader, uint32_t line);

static void parse_row(struct log_reader *reader, enum csv_row read, uint32_t line)
{
    memset(reader->cells, 0, reader->kind->column_count * sizeof *reader->cells);
    reader->refusal = (struct refusal){.line = line};
    if (read != CSV_ROW)
        refuse_quotes(reader, read);
    else
        refuse_swallowed_rows(reader, line);
    take_cells(reader, line);
    check_required(reader);
    check_level_of_lot(reader);
}

static void tell_row(const struct log_reader *reader, uint32_t line)
{
    if (reader->refusal.reason == NULL)
        reader->sink->row(reader->sink->context, line, reader->cells);
    else
        reader->sink->refused_row(reader->sink->context, &reader->refusal, reader->cells);
}

static bool may_be_header(const struct log_reader *reader)
{
    const struct csv_reader *csv = &reader->csv;
    return reader->refusal.reason != NULL && header_may_be(&reader->header, reader->kind, csv->cells, csv->cell_count);
}

/* ---- quotes that make one cell of several rows ---- */

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

/* A cell that not every text fits in. */
static bool is_telling(const struct column *column)
{
    return column->type != CELL_ID && column->type != CELL_TEXT && column->type != CELL_RESULT;
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
        probing->found = probing->found || (cells[i].present && is_telling(&probing->kind->columns[i]));
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
        parse_row(&probe, CSV_ROW, number);
        tell_row(&probe, number);
        probing.found = probing.found || may_be_header(&probe);
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
static void refuse_swallowed_rows(struct log_reader *reader, uint32_t line)
{
    const struct csv_reader *csv = &reader->csv;
    bool may_span = csv->line - line > 1 || csv->at == csv->end; /* no line end need stand behind the last row */
    for (size_t i = 0; may_span && i < csv->cell_count; i++) {
        if (!any_line(reader, csv->cells[i], is_row))
            continue;
        refuse(
            reader, header_column(&reader->header, reader->kind, i), (struct text){0},
            "lines that are rows of their own stand between the quotes of this cell: a quote is missing or too many");
        return;
    }
}

/* Whether a line of the cell but its first has so many dividers that it may be a row. */
static bool holds_a_row(struct text cell, size_t dividers)
{
    size_t found = 0;
    bool is_first = true;
    for (size_t i = 0; i < cell.size; i++) {
        bool ends = ends_line(cell.data[i]);
        is_first = is_first && !ends;
        found = ends ? 0 : found + (cell.data[i] == ',');
        if (!is_first && found >= dividers)
            return true;
    }
    return false;
}

/* Two stray quotes on different lines make one cell of all that stands between them. */
static void warn_of_swallowed_rows(struct log_reader *reader, uint32_t line)
{
    const struct csv_reader *csv = &reader->csv;
    uint32_t lines = csv->line - line;
    size_t half = reader->header.width / 2; /* the stray quotes may stand in any cell */
    bool holds = false;
    for (size_t i = 0; lines > 1 && i < csv->cell_count && !holds; i++)
        holds = holds_a_row(csv->cells[i], half > 2 ? half : 2);
    if (holds)
        warn(
            reader,
            "%u: this row runs over %u lines, and some look like rows of their own: a quote may be missing or too many",
            line, lines);
}

static void warn_of_unknown_columns(struct log_reader *reader, uint32_t line)
{
    for (size_t i = 0; i < reader->header.width; i++) {
        struct text name = reader->csv.cells[i];
        if (reader->header.places[i] >= 0 || header_is_unnamed(&reader->header, i))
            continue;
        const char *nearest = header_nearest(reader->kind, name);
        warn(reader, "%u: unknown column '%.*s' is left out%s%s", line, TEXT_FORMAT(utf8_cut(name, SHOWN_VALUE)),
             nearest != NULL ? ", the nearest known is " : "", nearest != NULL ? nearest : "");
    }
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

static bool swallows_rows(const struct log_reader *reader)
{
    const struct csv_reader *csv = &reader->csv;
    for (size_t i = 0; i < csv->cell_count; i++)
        if (any_line(reader, csv->cells[i], is_row_in_name))
            return true;
    return false;
}

static bool match_header(const struct log_reader *reader, enum csv_row read, struct header *out, char why[WHY_SIZE])
{
    const struct csv_reader *csv = &reader->csv;
    if (read == CSV_END)
        snprintf(why, WHY_SIZE, "has no header row");
    else if (read != CSV_ROW || swallows_rows(reader))
        snprintf(why, WHY_SIZE, "has a quote that is wrong in its header row");
    else if (csv->cell_count > COLUMNS_MOST_READ)
        snprintf(why, WHY_SIZE, "has more than %d columns in its header row", COLUMNS_MOST_READ);
    else
        header_match(out, reader->kind, csv->cells, csv->cell_count);
    return out->width > 0 && header_check(out, reader->kind, csv->cells, why);
}

static bool read_header(struct log_reader *reader, char why[WHY_SIZE])
{
    uint32_t line = 1;
    enum csv_row read = csv_next(&reader->csv, &line);
    bool good = match_header(reader, read, &reader->header, why);
    if (reader->header.width > 0)
        warn_of_unknown_columns(reader, line);
    return good;
}

/* ---- a header in the middle ---- */

/* Rows behind another header have other columns: one file was put behind another. False: nobody knows which. */
static bool take_header(struct log_reader *reader, enum csv_row read, uint32_t line)
{
    struct header next = {0};
    char why[WHY_SIZE];
    if (!match_header(reader, read, &next, why)) {
        header_free(&next);
        memset(reader->cells, 0, reader->kind->column_count * sizeof *reader->cells);
        snprintf(reader->reason, REASON_SIZE,
                 "a header row again, of a log that %s; nothing from here to the end of the file can be read", why);
        reader->refusal = (struct refusal){.line = line, .reason = reader->reason, .to_end = true};
        reader->sink->refused_row(reader->sink->context, &reader->refusal, reader->cells);
        return false;
    }
    header_free(&reader->header);
    reader->header = next;
    warn(reader, "%u: a header row again; the rows behind it are read by it", line);
    warn_of_unknown_columns(reader, line);
    return true;
}

/* A copy that broke off leaves no line end, and what was to follow is no empty cell. */
static void warn_of_broken_end(struct log_reader *reader, uint32_t line)
{
    const struct csv_reader *csv = &reader->csv;
    if (csv->at == csv->end && csv->cell_count < reader->header.width && csv->end[-1] != '\n' && csv->end[-1] != '\r')
        warn(reader, "%u: the last row has fewer cells than the header, and no line end: the file may be cut off",
             line);
}

/* ---- a log from its beginning to its end ---- */

static bool start(struct log_reader *reader, char **bytes, size_t size, char why[WHY_SIZE])
{
    const char *note, *as_read = *bytes;
    size_t begin;
    if (!encoding_to_utf8(bytes, &size, &begin, &note, why))
        return false;
    reader->bytes = *bytes;
    reader->is_plain = *bytes == as_read;
    if (note != NULL)
        warn(reader, " %s", note);
    csv_start(&reader->csv, *bytes + begin, size - begin);
    return read_header(reader, why);
}

struct log_reader *log_start(const struct record_kind *kind, const char *shown, char **bytes, size_t size,
                             const struct log_sink *sink, char why[WHY_SIZE])
{
    struct log_reader *reader = memory_new(sizeof *reader);
    *reader = (struct log_reader){.kind = kind, .shown = shown, .sink = sink};
    if (start(reader, bytes, size, why))
        return reader;
    log_reader_free(reader);
    return NULL;
}

/* A lone carriage return ends a line too, as in csv.c; nearly no file has any. */
static uint32_t count_lines(struct text text)
{
    uint32_t lines = 0;
    for (size_t i = 0; i < text.size; i++)
        lines += text.data[i] == '\n';
    const char *end = text.data + text.size;
    for (const char *at = text.data; (at = memchr(at, '\r', (size_t)(end - at))) != NULL; at++)
        lines += at + 1 == end || at[1] != '\n';
    return lines;
}

bool log_skip(struct log_reader *reader, size_t size)
{
    struct csv_reader *csv = &reader->csv;
    size_t header = (size_t)(csv->at - reader->bytes), all = (size_t)(csv->end - reader->bytes);
    if (!reader->is_plain || size < header || size > all || reader->bytes[size - 1] != '\n')
        return false;
    csv->line += count_lines((struct text){csv->at, size - header});
    csv->at = reader->bytes + size;
    return true;
}

void log_rows(struct log_reader *reader)
{
    uint32_t line;
    enum csv_row read;
    while ((read = csv_next(&reader->csv, &line)) != CSV_END) {
        parse_row(reader, read, line);
        if (read != CSV_OPEN_QUOTE && may_be_header(reader)) {
            if (!take_header(reader, read, line))
                return;
            continue;
        }
        tell_row(reader, line);
        if (read == CSV_ROW && reader->refusal.reason == NULL) {
            warn_of_swallowed_rows(reader, line);
            warn_of_broken_end(reader, line);
        }
    }
}

void log_reader_free(struct log_reader *reader)
{
    if (reader == NULL)
        return;
    csv_stop(&reader->csv);
    header_free(&reader->header);
    names_free(reader->warned);
    memory_free(reader);
}

bool log_read(const struct record_kind *kind, const char *shown, char **bytes, size_t size, const struct log_sink *sink,
              char why[WHY_SIZE])
{
    AUTO(log_reader) reader = log_start(kind, shown, bytes, size, sink, why);
    if (reader != NULL)
        log_rows(reader);
    return reader != NULL;
}
