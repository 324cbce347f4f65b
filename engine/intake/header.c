/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/header.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/utf8.h"
#include "records/cell.h"

enum { SHOWN_NAME = 64 };

void header_match(struct header *header, const struct record_kind *kind, const struct text *names, size_t count)
{
    header->places = memory_new(count * sizeof *header->places);
    header->width = count;
    for (size_t i = 0; i < count; i++)
        header->places[i] = names[i].size == 0 ? HEADER_UNNAMED : kind_column(kind, names[i]);
}

void header_free(struct header *header)
{
    memory_free(header->places);
    *header = (struct header){0};
}

/* A T may stand between the day and the time. */
static bool is_letter(struct text cell, size_t i)
{
    bool divides = cell.data[i] == 'T' && i > 0 && isdigit((unsigned char)cell.data[i - 1]) && i + 1 < cell.size &&
                   isdigit((unsigned char)cell.data[i + 1]);
    unsigned char c = (unsigned char)cell.data[i];
    return !divides && (isalpha(c) || c >= 0x80);
}

bool header_is_figure(struct text cell)
{
    bool has_digit = false;
    for (size_t i = 0; i < cell.size; i++) {
        if (is_letter(cell, i))
            return false;
        has_digit = has_digit || isdigit((unsigned char)cell.data[i]);
    }
    return has_digit;
}

/* What is below a column that not every text fits in, and is no name: a value of a record, perhaps with a slip. */
enum value { VALUE_NONE, VALUE_LIKELY, VALUE_OF_EVENT };

static enum value value_below(const struct header *header, const struct record_kind *kind, size_t place,
                              struct text text)
{
    int column = place < header->width ? header->places[place] : HEADER_UNKNOWN;
    struct cell cell;
    const char *why;
    if (column < 0 || text.size == 0 || cell_takes_any(kind->columns[column].type))
        return VALUE_NONE;
    if (!cell_parse(&kind->columns[column], text, &cell, &why))
        return header_is_figure(text) ? VALUE_LIKELY : VALUE_NONE;
    return column == kind->event_column ? VALUE_OF_EVENT : VALUE_LIKELY;
}

bool header_may_be(const struct header *header, const struct record_kind *kind, const struct text *cells, size_t count,
                   size_t least)
{
    bool named[COLUMNS_MOST] = {false}, all = true;
    size_t names = 0;
    for (size_t i = 0; i < count; i++) {
        enum value value = value_below(header, kind, i, cells[i]);
        if (value == VALUE_OF_EVENT)
            return false;
        if (value == VALUE_LIKELY)
            least = HEADER_SURE;
        int column = kind_column(kind, cells[i]);
        if (column < 0 || named[column])
            continue;
        named[column] = true;
        names++;
    }
    for (size_t i = 0; i < kind->column_count; i++)
        all = all && (named[i] || !(kind->columns[i].flags & COLUMN_REQUIRED));
    return all || names >= least;
}

bool header_is_unnamed(const struct header *header, size_t place) { return header->places[place] == HEADER_UNNAMED; }

const char *header_column(const struct header *header, const struct record_kind *kind, size_t place)
{
    if (place >= header->width || header->places[place] < 0)
        return NULL;
    return kind->columns[header->places[place]].name;
}

const char *header_nearest(const struct record_kind *kind, struct text name)
{
    const char *names[COLUMNS_MOST + 1] = {NULL};
    char word[SHOWN_NAME];
    size_t size = name.size < sizeof word ? name.size : sizeof word;
    for (size_t i = 0; i < size; i++)
        word[i] = text_lower(name.data[i]);
    for (size_t i = 0; i < kind->column_count; i++)
        names[i] = kind->columns[i].name;
    return text_nearest((struct text){word, size}, names);
}

static bool is_named_before(const struct text *names, size_t place)
{
    for (size_t i = 0; i < place; i++)
        if (text_same(names[i], names[place]))
            return true;
    return false;
}

static bool has_column(const struct header *header, size_t column)
{
    for (size_t i = 0; i < header->width; i++)
        if (header->places[i] == (int)column)
            return true;
    return false;
}

/* One cell with other dividers in it: the most common reason why columns seem to be missing. */
static const char *wrong_divider(const struct header *header, const struct text *names)
{
    if (header->width != 1)
        return "";
    if (memchr(names[0].data, ';', names[0].size) != NULL)
        return "; its cells seem to be divided by semicolons, not commas";
    return memchr(names[0].data, '\t', names[0].size) != NULL ? "; its cells seem to be divided by tabs, not commas"
                                                              : "";
}

bool header_check(const struct header *header, const struct record_kind *kind, const struct text *names,
                  char why[WHY_SIZE])
{
    for (size_t i = 0; i < header->width; i++) {
        if (names[i].size == 0 || !is_named_before(names, i))
            continue;
        snprintf(why, WHY_SIZE, "names the column '%.*s' twice", TEXT_FORMAT(utf8_cut(names[i], SHOWN_NAME)));
        return false;
    }
    int size = 0;
    for (size_t i = 0; i < kind->column_count; i++)
        if ((kind->columns[i].flags & COLUMN_REQUIRED) && !has_column(header, i))
            size += snprintf(why + size, (size_t)(WHY_SIZE - size), "%s%s",
                             size == 0 ? "lacks required columns: " : ", ", kind->columns[i].name);
    if (size > 0)
        snprintf(why + size, (size_t)(WHY_SIZE - size), "%s", wrong_divider(header, names));
    return size == 0;
}
