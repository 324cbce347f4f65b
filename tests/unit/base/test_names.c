/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>

#include "base/text.h"

Test(names, different_texts_are_numbered_in_order_of_arrival)
{
    AUTO(names) names = names_new();
    char buffer[] = "A1";
    cr_expect_eq(names_count(names), 0);
    cr_expect_eq(names_add(names, text_of(buffer)), 1);
    buffer[1] = '2';
    cr_expect_eq(names_add(names, text_of(buffer)), 2);
    buffer[1] = '1';
    cr_expect_eq(names_add(names, text_of(buffer)), 1);
    cr_expect_eq(names_find(names, TEXT("A2")), 2);
    cr_expect_eq(names_find(names, TEXT("A3")), 0);
    cr_expect_eq(names_count(names), 2);
    cr_expect(text_is(names_text(names, 2), "A2"));
}

Test(names, absent_and_empty_texts_have_the_number_zero)
{
    AUTO(names) names = names_new();
    cr_expect_eq(names_add(names, text_of(NULL)), 0);
    cr_expect_eq(names_add(names, TEXT("")), 0);
    cr_expect_eq(names_find(names, text_of(NULL)), 0);
    cr_expect_eq(names_count(names), 0);
    cr_expect_null(names_text(names, 0).data);
}

Test(names, bytes_decide_also_nul_and_length)
{
    AUTO(names) names = names_new();
    cr_expect_eq(names_add(names, TEXT("a")), 1);
    cr_expect_eq(names_add(names, TEXT("a\0")), 2);
    cr_expect_eq(names_add(names, TEXT("A")), 3);
    cr_expect_eq(names_add(names, TEXT("a\0")), 2);
    cr_expect_eq(names_text(names, 2).size, 2);
}

Test(names, a_large_table_keeps_every_number_and_text_in_place)
{
    enum { MANY = 200000 };
    AUTO(names) names = names_new();
    char name[32];
    uint32_t first = names_add(names, TEXT("first"));
    const char *first_bytes = names_text(names, first).data;
    for (uint32_t i = 2; i <= MANY; i++) {
        snprintf(name, sizeof name, "T-%u", i);
        cr_assert_eq(names_add(names, text_of(name)), i);
    }
    for (uint32_t i = 2; i <= MANY; i++) {
        snprintf(name, sizeof name, "T-%u", i);
        cr_assert_eq(names_find(names, text_of(name)), i);
        cr_assert(text_is(names_text(names, i), name));
    }
    cr_expect_eq(names_count(names), MANY);
    cr_expect_eq(names_text(names, first).data, first_bytes, "texts do not move");
}
