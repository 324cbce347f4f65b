/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/csv.h"

#include <string.h>

#include "base/memory.h"

void csv_start(struct csv_reader *reader, char *bytes, size_t size)
{
    *reader = (struct csv_reader){.at = bytes, .end = bytes + size, .line = 1};
}

void csv_stop(struct csv_reader *reader)
{
    memory_free(reader->cells);
    memory_free(reader->raw);
    *reader = (struct csv_reader){0};
}

static bool is_blank(char c) { return c == ' ' || c == '\t'; }

static bool ends_cell(char c) { return c == ',' || c == '\n' || c == '\r'; }

static char *skip_blanks(char *at, const char *end)
{
    while (at < end && is_blank(*at))
        at++;
    return at;
}

static char *skip_bare(char *at, const char *end)
{
    while (at < end && !ends_cell(*at))
        at++;
    return at;
}

static uint32_t count_breaks(struct text cell)
{
    uint32_t breaks = 0;
    for (size_t i = 0; i < cell.size; i++)
        breaks += cell.data[i] == '\n' || (cell.data[i] == '\r' && (i + 1 == cell.size || cell.data[i + 1] != '\n'));
    return breaks;
}

/* A quoted cell, from behind its opening quote to behind its closing one, with doubled quotes unfolded.
 * False if the closing quote is missing. */
static bool read_quoted(struct csv_reader *reader, struct text *cell)
{
    char *from = reader->at, *to = from;
    for (;;) {
        char *quote = memchr(reader->at, '"', (size_t)(reader->end - reader->at));
        if (quote == NULL)
            return false;
        size_t size = (size_t)(quote - reader->at);
        if (to != reader->at)
            memmove(to, reader->at, size);
        to += size;
        reader->at = quote + 1;
        if (reader->at == reader->end || *reader->at != '"')
            break;
        *to++ = '"';
        reader->at++;
    }
    *cell = (struct text){from, (size_t)(to - from)};
    reader->line += count_breaks(*cell);
    *cell = text_trim(*cell);
    return true;
}

static char *skip_line(char *at, const char *end)
{
    while (at < end && *at != '\n' && *at != '\r')
        at++;
    return at;
}

/* The closing quote of a cell that begins behind its opening one; NULL if it is missing. */
static char *find_closing(char *at, const char *end)
{
    while ((at = memchr(at, '"', (size_t)(end - at))) != NULL && at + 1 < end && at[1] == '"')
        at += 2;
    return at;
}

/* Text follows the closing quote of a cell that begins at `from`, and it is on a later line. */
static bool swallows_lines(char *from, const char *end)
{
    char *closing = find_closing(from + 1, end);
    if (closing == NULL || skip_line(from, closing) == closing)
        return false;
    char *after = skip_blanks(closing + 1, end);
    return after < end && !ends_cell(*after);
}

static enum csv_row read_cell(struct csv_reader *reader, struct text *cell)
{
    char *from = skip_blanks(reader->at, reader->end);
    if (from < reader->end && *from == '"') {
        if (swallows_lines(from, reader->end)) {
            reader->at = skip_line(from, reader->end);
            return CSV_BAD_QUOTE;
        }
        reader->at = from + 1;
        if (!read_quoted(reader, cell))
            return CSV_OPEN_QUOTE;
        char *after = skip_blanks(reader->at, reader->end);
        reader->at = skip_bare(after, reader->end);
        return reader->at == after ? CSV_ROW : CSV_BAD_QUOTE;
    }
    reader->at = skip_bare(from, reader->end);
    char *to = reader->at;
    while (to > from && is_blank(to[-1]))
        to--;
    *cell = (struct text){from, (size_t)(to - from)};
    return CSV_ROW;
}

static void keep_cell(struct csv_reader *reader, struct text cell, const char *from)
{
    if (reader->keeps_raw) {
        VECTOR_GROW(reader->raw, reader->cell_count, reader->raw_capacity);
        reader->raw[reader->cell_count] = (struct text){from, (size_t)(reader->at - from)};
    }
    VECTOR_GROW(reader->cells, reader->cell_count, reader->cell_capacity);
    reader->cells[reader->cell_count++] = cell;
}

/* Takes the comma or the end of the line that stands at the reader's place. True after a comma: a cell follows. */
static bool next_cell_follows(struct csv_reader *reader)
{
    if (reader->at == reader->end)
        return false;
    char c = *reader->at++;
    if (c == ',')
        return true;
    if (c == '\r' && reader->at < reader->end && *reader->at == '\n')
        reader->at++;
    reader->line++;
    return false;
}

static enum csv_row read_row(struct csv_reader *reader, bool *blank)
{
    enum csv_row row = CSV_ROW;
    reader->cell_count = 0;
    *blank = true;
    do {
        struct text cell;
        const char *from = reader->at;
        enum csv_row read = read_cell(reader, &cell);
        if (read == CSV_OPEN_QUOTE) {
            *blank = false;
            reader->at = reader->end;
            return read;
        }
        if (read == CSV_BAD_QUOTE)
            row = read;
        if (row != CSV_ROW)
            continue; /* what follows text after a closing quote may stand in the wrong column */
        keep_cell(reader, cell, from);
        *blank = *blank && cell.size == 0;
    } while (next_cell_follows(reader));
    *blank = *blank && row == CSV_ROW;
    return row;
}

enum csv_row csv_next(struct csv_reader *reader, uint32_t *line)
{
    enum csv_row row;
    bool blank;
    do {
        if (reader->at == reader->end)
            return CSV_END;
        *line = reader->line;
        row = read_row(reader, &blank);
    } while (blank);
    return row;
}
