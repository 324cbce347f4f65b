/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/header.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "base/calendar.h"
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

static bool has_event(const struct header *header, const struct record_kind *kind, const struct text *cells,
                      size_t count)
{
    struct cell cell;
    const char *why;
    for (size_t i = 0; kind->event_column >= 0 && i < count && i < header->width; i++)
        if (header->places[i] == kind->event_column)
            return cell_parse(&kind->columns[kind->event_column], cells[i], &cell, &why) && cell.present;
    return false;
}

bool header_is_figure(struct text cell)
{
    bool has_digit = false, has_letter = false;
    moment at;
    const char *why;
    if (moment_parse(text_trim(cell), &at, &why)) /* may have the letter T */
        return true;
    for (size_t i = 0; i < cell.size; i++) {
        unsigned char c = (unsigned char)cell.data[i];
        has_digit = has_digit || isdigit(c);
        has_letter = has_letter || isalpha(c) || c >= 0x80;
    }
    return has_digit && !has_letter;
}

bool header_may_be(const struct header *header, const struct record_kind *kind, const struct text *cells, size_t count)
{
    bool named[COLUMNS_MOST] = {false}, all = true;
    size_t names = 0, least = 2;
    for (size_t i = 0; i < count; i++) {
        int column = kind_column(kind, cells[i]);
        if (header_is_figure(cells[i]))
            least = 3;
        if (column < 0 || named[column])
            continue;
        named[column] = true;
        names++;
    }
    for (size_t i = 0; i < kind->column_count; i++)
        all = all && (named[i] || !(kind->columns[i].flags & COLUMN_REQUIRED));
    return (all || names >= least) && !has_event(header, kind, cells, count);
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
