/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Types of cells: the first line of the input names a kind and a column, the next two are values. A value that is taken
 * is equal to itself and to its canonical form, and its digest's bytes are the same exactly where values are equal;
 * numbers keep their order; dates and times print as they were written. */
#include <math.h>
#include <string.h>

#include "common/fuzz.h"
#include "records/cell.h"

struct value {
    struct cell cell;
    char *canonical;
    size_t size;
};

static bool take(const struct column *column, struct text text, struct value *out)
{
    const char *why = NULL;
    *out = (struct value){.cell = {.present = false}};
    text = text_trim(text);
    if (text.size == 0)
        return false;
    bool good = cell_parse(column, text, &out->cell, &why);
    REQUIRE(good == (why == NULL));
    if (!good)
        return false;
    out->canonical = memory_new(CELL_CANONICAL_SIZE(&out->cell));
    out->size = cell_canonical(column, &out->cell, out->canonical);
    REQUIRE(out->size <= CELL_CANONICAL_SIZE(&out->cell) && out->canonical[out->size - 1] == 0x1F);
    REQUIRE(memchr(out->canonical, 0x1F, out->size - 1) == NULL);
    return true;
}

static void require_printed(const struct column *column, const struct value *value)
{
    char printed[MOMENT_TEXT_SIZE];
    struct text text = value->cell.text;
    if (column->type == CELL_DATE) {
        day_number day = (day_number)value->cell.whole, again;
        day_print(day, printed);
        REQUIRE(text_is(text, printed));
        REQUIRE(day_from_civil(day_civil(day), &again) && again == day);
        REQUIRE(day >= 0 && day <= DAY_LAST && day_of_week(day) >= 0 && day_of_week(day) <= 6);
    }
    if (column->type == CELL_TIME) {
        moment_print(value->cell.whole, printed);
        REQUIRE(text.size == strlen(printed));
        printed[10] = text.data[10]; /* a blank or T */
        REQUIRE(text_is(text, printed));
        REQUIRE(moment_compare(value->cell.whole, value->cell.whole) == 0);
    }
}

/* The canonical form is a value of the column again, and the same one. */
static void require_same_again(const struct column *column, const struct value *value)
{
    bool by_place = column->type == CELL_TEXT || column->type == CELL_WORDS || column->type == CELL_RESULT;
    struct text canonical = {value->canonical, value->size - 1};
    struct cell again;
    const char *why;
    if (by_place || canonical.size == 0)
        return; /* escapes, dividers: not for reading */
    REQUIRE(cell_parse(column, canonical, &again, &why) && cell_equal(column, &value->cell, &again));
}

static void require_order(struct text a, struct text b)
{
    int order = decimal_compare(a, b);
    double left = decimal_double(a), right = decimal_double(b);
    REQUIRE(order == -decimal_compare(b, a));
    REQUIRE(isfinite(left) && isfinite(right));
    REQUIRE(order <= 0 || left >= right);
    REQUIRE(order >= 0 || left <= right);
    REQUIRE(order != 0 || left == right);
}

static void require_results(struct text text)
{
    struct result result = result_of(text);
    bool numeral = result.kind != RESULT_WORD;
    REQUIRE(numeral == decimal_valid(result.text) || !numeral);
    REQUIRE(result.text.data + result.text.size == text.data + text.size && isfinite(result.number));
}

static void require_pair(const struct column *column, const struct value *a, const struct value *b)
{
    bool equal = cell_equal(column, &a->cell, &b->cell);
    REQUIRE(equal == cell_equal(column, &b->cell, &a->cell));
    REQUIRE(equal == (a->size == b->size && memcmp(a->canonical, b->canonical, a->size) == 0));
    if (column->type == CELL_NUMBER)
        require_order(a->cell.text, b->cell.text);
    if (column->type == CELL_TIME) {
        REQUIRE(moment_compare(a->cell.whole, b->cell.whole) == -moment_compare(b->cell.whole, a->cell.whole));
        REQUIRE(moment_day(a->cell.whole, 0) >= moment_day(a->cell.whole, 86399));
    }
}

static void require_value(const struct column *column, const struct value *value)
{
    require_printed(column, value);
    require_same_again(column, value);
    require_pair(column, value, value);
    if (column->type == CELL_RESULT)
        require_results(value->cell.text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct text rest = fuzz_text(data, size), head, kind_name, first = {0}, second = {0};
    if (!fuzz_part(&rest, '\n', &head) || !fuzz_part(&head, ' ', &kind_name))
        return -1;
    const struct record_kind *kind = kind_named(kind_name);
    int place = kind != NULL ? kind_column(kind, head) : -1;
    if (place < 0)
        return -1;
    const struct column *column = &kind->columns[place];
    struct value a, b;
    fuzz_part(&rest, '\n', &first);
    fuzz_part(&rest, '\n', &second);
    bool has_a = take(column, first, &a), has_b = take(column, second, &b);
    if (has_a)
        require_value(column, &a);
    if (has_a && has_b)
        require_pair(column, &a, &b);
    memory_free(a.canonical);
    memory_free(b.canonical);
    return 0;
}
