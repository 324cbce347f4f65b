/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A log from its header to its end. */
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "intake/log_inside.h"

enum { COLUMNS_MOST_READ = 1000 };

static void warn_of_unknown_columns(struct log_reader *reader, uint32_t line)
{
    for (size_t i = 0; i < reader->header.width; i++) {
        struct text name = reader->csv.cells[i];
        if (reader->header.places[i] >= 0 || header_is_unnamed(&reader->header, i))
            continue;
        const char *nearest = header_nearest(reader->kind, name);
        log_warn(reader, "%u: unknown column '%.*s' is left out%s%s", line, TEXT_FORMAT(utf8_cut(name, SHOWN_VALUE)),
                 nearest != NULL ? ", the nearest known is " : "", nearest != NULL ? nearest : "");
    }
}

static bool match_header(const struct log_reader *reader, enum csv_row read, struct header *out, char why[WHY_SIZE])
{
    const struct csv_reader *csv = &reader->csv;
    if (read == CSV_END)
        snprintf(why, WHY_SIZE, "has no header row");
    else if (read != CSV_ROW || log_header_swallows_rows(reader))
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
    log_warn(reader, "%u: a header row again; the rows behind it are read by it", line);
    warn_of_unknown_columns(reader, line);
    return true;
}

/* A copy that broke off leaves no line end, and what was to follow is no empty cell. */
static void warn_of_broken_end(struct log_reader *reader, uint32_t line)
{
    const struct csv_reader *csv = &reader->csv;
    if (csv->at == csv->end && csv->cell_count < reader->header.width && csv->end[-1] != '\n' && csv->end[-1] != '\r')
        log_warn(reader, "%u: the last row has fewer cells than the header, and no line end: the file may be cut off",
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
        log_warn(reader, " %s", note);
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
        log_parse_row(reader, read, line);
        if (read != CSV_OPEN_QUOTE && log_may_be_header(reader, HEADER_LIKELY)) {
            if (!take_header(reader, read, line))
                return;
            continue;
        }
        log_tell_row(reader, line);
        if (read == CSV_ROW && reader->refusal.reason == NULL) {
            log_warn_of_swallowed_rows(reader, line);
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
