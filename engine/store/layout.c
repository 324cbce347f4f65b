/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/layout.h"

/* ---- packing ---- */

static int64_t cell_number(const struct column *column, struct names *names, const struct cell *cell)
{
    return column_is_named(column) ? names_add(names, cell->text) : cell->whole;
}

void row_pack(const struct layout *layout, struct names *names, const struct cell *cells, struct bytes *out)
{
    uint64_t present = 0;
    for (int place = 0; place < layout->count; place++)
        present |= (uint64_t)cells[layout->column_at[place]].present << place;
    bytes_number(out, present);
    for (int place = 0; place < layout->count; place++) {
        const struct column *column = &layout->kind->columns[layout->column_at[place]];
        const struct cell *cell = &cells[layout->column_at[place]];
        if (!cell->present)
            continue;
        if (column_is_text(column))
            bytes_block(out, cell->text.data, cell->text.size);
        else
            bytes_number(out, number_fold(cell_number(column, names, cell)));
    }
}

bool row_pack_sql(const struct layout *layout, sqlite3_stmt *row, int first, struct bytes *out)
{
    uint64_t present = 0;
    for (int place = 0; place < layout->count; place++)
        present |= (uint64_t)(sqlite3_column_type(row, first + place) != SQLITE_NULL) << place;
    bytes_number(out, present);
    for (int place = 0; place < layout->count; place++) {
        if (!(present >> place & 1))
            continue;
        bool is_text = column_is_text(&layout->kind->columns[layout->column_at[place]]);
        if (sqlite3_column_type(row, first + place) != (is_text ? SQLITE_TEXT : SQLITE_INTEGER))
            return false;
        if (is_text)
            bytes_block(out, sqlite3_column_text(row, first + place), (size_t)sqlite3_column_bytes(row, first + place));
        else
            bytes_number(out, number_fold(sqlite3_column_int64(row, first + place)));
    }
    return true;
}

/* ---- unpacking ---- */

static const unsigned char *value_take(bool is_text, const unsigned char *at, const unsigned char *end,
                                       struct value *value)
{
    uint64_t number;
    at = number_take(at, end, &number);
    if (at == NULL)
        return NULL;
    value->present = true;
    if (!is_text) {
        value->whole = number_unfold(number);
        return at;
    }
    if (number > (uint64_t)(end - at))
        return NULL;
    value->text = (struct text){(const char *)at, (size_t)number};
    return at + number;
}

const unsigned char *row_values(const struct layout *layout, const unsigned char *row, const unsigned char *end,
                                struct value *values)
{
    uint64_t present;
    row = number_take(row, end, &present);
    for (int place = 0; place < layout->count && row != NULL; place++) {
        values[place] = (struct value){0};
        if (present >> place & 1)
            row =
                value_take(column_is_text(&layout->kind->columns[layout->column_at[place]]), row, end, &values[place]);
    }
    return row;
}

static int64_t word_place(const struct column *column, struct text word)
{
    for (int64_t i = 0; column->words[i] != NULL; i++)
        if (text_is(word, column->words[i]))
            return i;
    return -1;
}

static struct cell named_cell(const struct column *column, const struct names *names, int64_t number)
{
    if (number <= 0 || number > names_count(names))
        return (struct cell){0};
    struct cell cell = {.present = true, .whole = number, .text = names_text(names, (uint32_t)number)};
    if (column->type == CELL_WORD)
        cell.whole = word_place(column, cell.text);
    cell.present = cell.whole >= 0;
    return cell;
}

static bool is_in_calendar(enum cell_type type, int64_t whole)
{
    int64_t last = type == CELL_DATE ? DAY_LAST : moment_make((DAY_LAST + INT64_C(1)) * 86400 - 1, true);
    return whole >= 0 && whole <= last;
}

/* What no log could have said (the file may have been edited) becomes an absent cell, here, so that nobody further up
 * meets it; store_verify works on the values themselves. */
struct cell value_cell(const struct column *column, const struct names *names, struct value value)
{
    struct cell cell = {.present = value.present, .whole = value.whole, .text = value.text};
    if (!value.present)
        return cell;
    if (column_is_named(column))
        return named_cell(column, names, value.whole);
    if (column->type == CELL_YES_NO)
        cell.text = value.whole ? TEXT("yes") : TEXT("no");
    bool has_calendar = column->type == CELL_DATE || column->type == CELL_TIME;
    return !has_calendar || is_in_calendar(column->type, value.whole) ? cell : (struct cell){0};
}

static void cells_absent(const struct layout *layout, struct cell *cells)
{
    for (size_t i = 0; i < layout->kind->column_count; i++)
        if (layout->place_of[i] < 0)
            cells[i] = (struct cell){0};
}

void row_cells(const struct layout *layout, const struct names *names, const struct value *values, struct cell *cells)
{
    cells_absent(layout, cells);
    for (int place = 0; place < layout->count; place++) {
        int column = layout->column_at[place];
        cells[column] = value_cell(&layout->kind->columns[column], names, values[place]);
    }
}

void row_cells_sql(const struct layout *layout, const struct names *names, sqlite3_stmt *row, int first,
                   struct cell *cells)
{
    cells_absent(layout, cells);
    for (int place = 0; place < layout->count; place++) {
        const struct column *column = &layout->kind->columns[layout->column_at[place]];
        struct value value = {.present = sqlite3_column_type(row, first + place) != SQLITE_NULL};
        if (value.present && column_is_text(column)) {
            value.text.data = (const char *)sqlite3_column_text(row, first + place);
            value.text.size = (size_t)sqlite3_column_bytes(row, first + place);
        } else if (value.present) {
            value.whole = sqlite3_column_int64(row, first + place);
        }
        cells[layout->column_at[place]] = value_cell(column, names, value);
    }
}

/* ---- events, keys, comparing ---- */

int64_t row_at(const struct record_kind *kind, const struct cell *cells)
{
    return kind->event_column >= 0 && cells[kind->event_column].present ? cells[kind->event_column].whole : 0;
}

moment row_moment(const struct record_kind *kind, const struct cell *cells)
{
    if (kind->event_column < 0 || !cells[kind->event_column].present)
        return MOMENT_ABSENT;
    int64_t at = cells[kind->event_column].whole;
    return kind->columns[kind->event_column].type == CELL_TIME ? at : moment_make(at * 86400, false);
}

bool row_same_key(const struct record_kind *kind, const struct cell *a, const struct cell *b)
{
    for (size_t i = 0; i < kind->column_count; i++)
        if ((kind->columns[i].flags & COLUMN_KEY) && !cell_equal(&kind->columns[i], &a[i], &b[i]))
            return false;
    return true;
}

bool row_same(const struct record_kind *kind, const struct cell *a, const struct cell *b)
{
    for (size_t i = 0; i < kind->column_count; i++)
        if (!cell_equal(&kind->columns[i], &a[i], &b[i]))
            return false;
    return true;
}

bool row_amends(const struct record_kind *kind, const struct cell *before, const struct cell *after)
{
    for (size_t i = 0; i < kind->column_count; i++)
        if (before[i].present && !cell_equal(&kind->columns[i], &before[i], &after[i]))
            return true;
    return false;
}

uint32_t row_key_columns(const struct record_kind *kind)
{
    uint32_t columns = 0;
    for (size_t i = 0; i < kind->column_count; i++)
        if (kind->columns[i].flags & COLUMN_KEY)
            columns |= UINT32_C(1) << i;
    return columns;
}

uint64_t row_hash(const struct layout *layout, uint32_t columns, const struct cell *cells, struct bytes *scratch)
{
    const struct record_kind *kind = layout->kind;
    scratch->size = 0;
    for (size_t i = 0; i < kind->column_count; i++) {
        if (!(columns >> i & 1))
            continue;
        char *room = (char *)bytes_room(scratch, 2 * cells[i].text.size + 32);
        scratch->size += cell_canonical(&kind->columns[i], &cells[i], room);
    }
    return text_hash((struct text){(const char *)scratch->data, scratch->size}, layout->hash_key);
}

static struct text cell_text(const struct column *column, const struct cell *cell, char room[MOMENT_TEXT_SIZE])
{
    if (column->type == CELL_TIME)
        moment_print(cell->whole, room);
    else if (column->type == CELL_DATE)
        day_print((day_number)cell->whole, room);
    else
        return cell->text;
    return text_of(room);
}

void row_key_text(const struct record_kind *kind, const struct cell *cells, struct bytes *out)
{
    bool first = true;
    for (size_t i = 0; i < kind->column_count; i++) {
        if (!(kind->columns[i].flags & COLUMN_KEY) || !cells[i].present)
            continue;
        char room[MOMENT_TEXT_SIZE];
        struct text text = cell_text(&kind->columns[i], &cells[i], room);
        char *at = (char *)bytes_room(out, text.size + 1);
        if (!first)
            *at++ = ' ';
        if (text.size > 0)
            memcpy(at, text.data, text.size);
        out->size += text.size + !first;
        first = false;
    }
}
