/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers of seven bits a byte, packed rows, and what is read from bytes that are none. */
#include "store/layout.h"

#include <criterion/criterion.h>
#include <stdlib.h>

static const int64_t numbers[] = {0, -1, 1, 63, -64, 64, 127, 128, 16383, 16384, INT32_MAX, INT64_MAX, INT64_MIN};

Test(bytes, numbers_come_back_and_small_ones_are_short)
{
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        unsigned char room[NUMBER_BYTES_MOST], *end = number_put(room, number_fold(numbers[i]));
        const unsigned char *at = room;
        uint64_t taken;
        cr_expect_eq(number_take(room, end, &taken), end);
        cr_expect_eq(number_unfold(taken), numbers[i]);
        cr_expect_eq(number_unfold(number_next(&at)), numbers[i]);
        cr_expect_eq(at, end);
        cr_expect_eq(end - room == 1, numbers[i] >= -64 && numbers[i] < 64);
        cr_expect_null(number_take(room, end - 1, &taken), "one byte short");
    }
}

Test(bytes, an_absent_text_differs_from_an_empty_one)
{
    AUTO_BYTES absent = {0};
    AUTO_BYTES empty = {0};
    bytes_text(&absent, (struct text){0});
    bytes_text(&empty, TEXT(""));
    cr_expect(absent.size != empty.size || memcmp(absent.data, empty.data, empty.size) != 0);
}

static void layout_plain(struct layout *layout, enum kind_id id)
{
    *layout = (struct layout){.kind = kind_of(id), .count = (int)kind_of(id)->column_count};
    for (int i = 0; i < layout->count; i++)
        layout->column_at[i] = layout->place_of[i] = i;
}

static struct cell parsed(const struct column *column, const char *text)
{
    struct cell cell = {0};
    const char *why;
    if (text != NULL)
        cr_assert(cell_parse(column, text_of(text), &cell, &why), "%s: %s", column->name, why);
    return cell;
}

static const char *const lot_cells[] = {"L1",   "strip", "control",    "low",        NULL, "+5.40", NULL,
                                        "<4.2", "words", "2026-01-01", "2027-01-01", NULL, "a note"};

static void pack_lot(const struct layout *layout, struct names *names, struct bytes *packed, struct cell *cells)
{
    for (size_t i = 0; i < layout->kind->column_count; i++)
        cells[i] = parsed(&layout->kind->columns[i], lot_cells[i]);
    row_pack(layout, names, cells, packed);
}

Test(layout, a_packed_row_gives_its_cells_back)
{
    struct layout layout;
    struct cell cells[COLUMNS_MOST], back[COLUMNS_MOST];
    struct value values[COLUMNS_MOST];
    AUTO(names) names = names_new();
    AUTO_BYTES packed = {0};
    layout_plain(&layout, KIND_LOTS);
    pack_lot(&layout, names, &packed, cells);
    cr_expect_eq(row_values(&layout, packed.data, packed.data + packed.size, values), packed.data + packed.size);
    row_cells(&layout, names, values, back);
    cr_expect(row_same(layout.kind, cells, back));
    cr_expect(text_is(back[COL(LOTS, mean)].text, "+5.40"));
    cr_expect_eq(back[COL(LOTS, use)].whole, 1, "control is the second word");
    cr_expect(text_is(names_text(names, (uint32_t)back[COL(LOTS, lot)].whole), "L1"));
}

/* Any cut and any single byte changed: no read beyond the end, and no cell that a log could not have. */
Test(layout, bytes_that_are_no_row_do_no_harm)
{
    struct layout layout;
    struct cell cells[COLUMNS_MOST];
    struct value values[COLUMNS_MOST];
    AUTO(names) names = names_new();
    AUTO_BYTES packed = {0};
    layout_plain(&layout, KIND_LOTS);
    pack_lot(&layout, names, &packed, cells);
    for (size_t size = 0; size < packed.size; size++) {
        unsigned char *cut = malloc(size + 1); /* of its own, so that the sanitizer sees its end */
        memcpy(cut, packed.data, size);
        cr_expect_null(row_values(&layout, cut, cut + size, values), "%zu bytes", size);
        free(cut);
    }
    for (size_t at = 0; at < packed.size; at++) {
        for (int byte = 0; byte < 256; byte++) {
            unsigned char before = packed.data[at];
            packed.data[at] = (unsigned char)byte;
            if (row_values(&layout, packed.data, packed.data + packed.size, values) != NULL) {
                row_cells(&layout, names, values, cells);
                cr_assert(!cells[COL(LOTS, received_on)].present || (cells[COL(LOTS, received_on)].whole >= 0 &&
                                                                     cells[COL(LOTS, received_on)].whole <= DAY_LAST));
                cr_assert(!cells[COL(LOTS, lot)].present || cells[COL(LOTS, lot)].whole <= names_count(names));
                cr_assert(!cells[COL(LOTS, use)].present || cells[COL(LOTS, use)].whole < 2);
            }
            packed.data[at] = before;
        }
    }
}

/* The place of a column in the store is not its place in the kind: `level` came later here, and `code` is not there
 * yet. */
Test(layout, rows_are_packed_by_the_places_of_the_store)
{
    struct layout plain, other;
    struct cell cells[COLUMNS_MOST], back[COLUMNS_MOST];
    struct value values[COLUMNS_MOST];
    AUTO(names) names = names_new();
    AUTO_BYTES packed = {0};
    layout_plain(&plain, KIND_LOTS);
    pack_lot(&plain, names, &packed, cells);
    other = plain;
    other.count = 0;
    other.place_of[COL(LOTS, code)] = -1;
    for (int column = 0; column < plain.count; column++)
        if (column != COL(LOTS, level) && column != COL(LOTS, code))
            other.column_at[other.count++] = column;
    other.column_at[other.count++] = COL(LOTS, level);
    packed.size = 0;
    row_pack(&other, names, cells, &packed);
    cr_assert_not_null(row_values(&other, packed.data, packed.data + packed.size, values));
    row_cells(&other, names, values, back);
    cr_expect(row_same(plain.kind, cells, back), "code was absent");
}

Test(layout, the_key_reads_as_it_was_recorded_without_what_is_absent)
{
    struct layout layout;
    struct cell cells[COLUMNS_MOST];
    AUTO(names) names = names_new();
    AUTO_BYTES packed = {0};
    AUTO_BYTES key = {0};
    layout_plain(&layout, KIND_LOTS);
    pack_lot(&layout, names, &packed, cells);
    row_key_text(layout.kind, cells, &key);
    cr_expect(text_is((struct text){(const char *)key.data, key.size}, "L1 strip control low"));
    cells[COL(LOTS, level)] = (struct cell){0};
    key.size = 0;
    row_key_text(layout.kind, cells, &key);
    cr_expect(text_is((struct text){(const char *)key.data, key.size}, "L1 strip control"));
}

Test(layout, only_a_cell_that_was_there_can_be_amended)
{
    const struct record_kind *kind = kind_of(KIND_LOTS);
    struct cell before[COLUMNS_MOST] = {0}, after[COLUMNS_MOST] = {0};
    before[COL(LOTS, lot)] = after[COL(LOTS, lot)] = parsed(&kind->columns[COL(LOTS, lot)], "L1");
    cr_expect_not(row_amends(kind, before, after));
    after[COL(LOTS, sd)] = parsed(&kind->columns[COL(LOTS, sd)], ".20");
    cr_expect_not(row_amends(kind, before, after), "filled");
    cr_expect(row_amends(kind, after, before), "emptied");
    before[COL(LOTS, sd)] = parsed(&kind->columns[COL(LOTS, sd)], "0.2");
    cr_expect_not(row_amends(kind, before, after), "spelled otherwise");
    before[COL(LOTS, sd)] = parsed(&kind->columns[COL(LOTS, sd)], "0.3");
    cr_expect(row_amends(kind, before, after));
}
