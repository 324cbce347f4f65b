/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A row of a log: its cells, typed, or why it is refused. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "intake/log_inside.h"

enum { WARNING_SIZE = 4608 };

void log_warn(const struct log_reader *reader, const char *format, ...)
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

void log_refuse(struct log_reader *reader, const char *column, struct text value, const char *reason)
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
        log_warn(reader, "%u: %s: %.*s: unknown word%s%s", line, column->name, TEXT_FORMAT(utf8_cut(word, SHOWN_VALUE)),
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
        log_refuse(reader, column->name, text, column->type == CELL_WORD ? expected_words(reader, column->words) : why);
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
    log_warn(reader, "%u: column %zu has no name; what stands in it is left out", line, place + 1);
}

static void take_cells(struct log_reader *reader, uint32_t line)
{
    const struct csv_reader *csv = &reader->csv;
    size_t count = csv->cell_count < reader->header.width ? csv->cell_count : reader->header.width;
    if (csv->cell_count > reader->header.width)
        log_refuse(reader, NULL, csv->cells[reader->header.width], "more cells than the header");
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
            log_refuse(reader, kind->columns[i].name, (struct text){0}, "required, but empty");
}

/* A control lot has a row a level; a reagent lot has no levels. */
static void check_level_of_lot(struct log_reader *reader)
{
    const struct cell *use = &reader->cells[COL_LOTS_use], *level = &reader->cells[COL_LOTS_level];
    if (reader->kind->id != KIND_LOTS || !use->present)
        return;
    bool is_control = text_is(use->text, "control");
    if (is_control && !level->present)
        log_refuse(reader, "level", level->text, "a control lot needs a level");
    if (!is_control && level->present)
        log_refuse(reader, "level", level->text, "a reagent lot has no level");
}

/* A row whose quotes are wrong: the cells before the fault stand, the rest is unknown. */
static void refuse_quotes(struct log_reader *reader, enum csv_row read)
{
    const char *column = header_column(&reader->header, reader->kind, reader->csv.cell_count);
    const char *reason = read == CSV_OPEN_QUOTE
                             ? "a quote that is never closed; nothing from here to the end of the file can be read"
                             : "text after a closing quote; quotes inside a quoted cell must be doubled";
    log_refuse(reader, column, (struct text){0}, reason);
    reader->refusal.to_end = read == CSV_OPEN_QUOTE;
}

void log_parse_row(struct log_reader *reader, enum csv_row read, uint32_t line)
{
    memset(reader->cells, 0, reader->kind->column_count * sizeof *reader->cells);
    reader->refusal = (struct refusal){.line = line};
    if (read != CSV_ROW)
        refuse_quotes(reader, read);
    else
        log_refuse_swallowed_rows(reader, line);
    take_cells(reader, line);
    check_required(reader);
    check_level_of_lot(reader);
}

void log_tell_row(const struct log_reader *reader, uint32_t line)
{
    if (reader->refusal.reason == NULL)
        reader->sink->row(reader->sink->context, line, reader->cells);
    else
        reader->sink->refused_row(reader->sink->context, &reader->refusal, reader->cells);
}

bool log_may_be_header(const struct log_reader *reader, size_t least)
{
    const struct csv_reader *csv = &reader->csv;
    return reader->refusal.reason != NULL &&
           header_may_be(&reader->header, reader->kind, csv->cells, csv->cell_count, least);
}
