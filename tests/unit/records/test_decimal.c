/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <float.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "records/decimal.h"

Test(decimal, numerals_have_no_exponent_and_no_thousands_mark)
{
    static const struct {
        const char *text;
        bool valid;
    } vectors[] = {
        {"0", true},      {"5.4", true},
        {"+5.4", true},   {"-5.4", true},
        {".5", true},     {"-.5", true},
        {"007", true},    {"5.40", true},
        {"", false},      {"+", false},
        {"-", false},     {".", false},
        {"5.", false},    {"+.", false},
        {"1e3", false},   {"1,000", false},
        {"4,5", false},   {"1 000", false},
        {"1.2.3", false}, {"--5", false},
        {"5-", false},    {"0x10", false},
        {"inf", false},   {"nan", false},
        {" 5", false},    {"\xD9\xA3", false} /* a digit of another script */,
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++)
        cr_expect_eq(decimal_valid(text_of(vectors[i].text)), vectors[i].valid, "'%s'", vectors[i].text);
}

Test(decimal, order_is_exact_at_any_length)
{
    /* Each line's numerals are equal, and smaller than those of the next line. */
    static const char *const sorted[][4] = {
        {"-100000000000000000000000000000000000001"},
        {"-100000000000000000000000000000000000000", "-0100000000000000000000000000000000000000.0"},
        {"-10", "-10.0", "-010"},
        {"-9.99"},
        {"-0.1", "-.1", "-.10"},
        {"0", "-0", "+0.0", "-.000"},
        {"0.00000000000000000000000000000000000000000000000000001"},
        {".5", "0.5", "+0.50", "00.500"},
        {"5.4", "5.40", "+5.4", "05.400"},
        {"5.4000000000000000000000000001"},
        {"14.6"},
        {"146"},
    };
    size_t count = sizeof sorted / sizeof *sorted;
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count; j++)
            for (size_t a = 0; a < 4 && sorted[i][a] != NULL; a++)
                for (size_t b = 0; b < 4 && sorted[j][b] != NULL; b++)
                    cr_expect_eq(decimal_compare(text_of(sorted[i][a]), text_of(sorted[j][b])), (i > j) - (i < j),
                                 "%s, %s", sorted[i][a], sorted[j][b]);
}

Test(decimal, equal_numerals_share_one_spelling)
{
    static const char *const vectors[][2] = {
        {"5.40", "5.4"}, {"+007", "7"},  {"-0.0", "0"}, {".50", "0.5"},
        {"-.5", "-0.5"}, {"120", "120"}, {"000", "0"},  {"100.00100", "100.001"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        char out[32];
        size_t size = decimal_canonical(text_of(vectors[i][0]), out);
        cr_expect(text_is((struct text){out, size}, vectors[i][1]), "%s", vectors[i][0]);
        cr_expect_leq(size, strlen(vectors[i][0]) + 1);
    }
}

Test(decimal, numerals_of_fifteen_digits_become_the_nearest_double)
{
    static const char *const vectors[] = {
        "0", "5.4", "0.1", "14.6", "999999999999999", "0.000000123456789012345", "-273.15", "1e0", "4.35", "2.675"};
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++)
        if (decimal_valid(text_of(vectors[i])))
            cr_expect_eq(decimal_double(text_of(vectors[i])), strtod(vectors[i], NULL), "%s", vectors[i]);
}

Test(decimal, digits_beyond_the_fifteenth_keep_the_order)
{
    double limit = decimal_double(TEXT("14.0"));
    cr_expect_gt(decimal_double(TEXT("14.00000000000000000001")), limit);
    cr_expect_lt(decimal_double(TEXT("-14.00000000000000000001")), -limit);
    cr_expect_eq(decimal_double(TEXT("14.00000000000000000000")), limit);
    cr_expect_eq(decimal_double(TEXT("0014.0")), limit);
    cr_expect_gt(decimal_double(TEXT("1234567890123456")), decimal_double(TEXT("1234567890123450")) - 1);
}

Test(decimal, numbers_are_never_infinite)
{
    char huge[500];
    memset(huge, '9', sizeof huge);
    cr_expect_eq(decimal_double((struct text){huge, sizeof huge}), DBL_MAX);
    huge[0] = '-';
    cr_expect_eq(decimal_double((struct text){huge, sizeof huge}), -DBL_MAX);
}

/* Seeded, so that a failure repeats: the double of a numeral orders as the numeral does against a short limit. */
Test(decimal, doubles_order_random_numerals_as_the_numerals_order)
{
    unsigned seed = 20261007;
    for (int i = 0; i < 20000; i++) {
        char a[32], b[16];
        seed = seed * 1103515245U + 12345U;
        unsigned whole = seed >> 16 & 31, cents = seed >> 21 & 63;
        snprintf(b, sizeof b, "%u.%02u", whole, cents);
        seed = seed * 1103515245U + 12345U;
        snprintf(a, sizeof a, "%u.%02u0000000000000%u", whole, cents, seed >> 20 & 7);
        double left = decimal_double(text_of(a)), right = decimal_double(text_of(b));
        cr_assert_eq((left > right) - (left < right), decimal_compare(text_of(a), text_of(b)), "%s, %s", a, b);
    }
}

Test(decimal, places_are_counted_as_written)
{
    cr_expect_eq(decimal_places(TEXT("5")), 0);
    cr_expect_eq(decimal_places(TEXT("5.40")), 2);
    cr_expect_eq(decimal_places(TEXT("-.5")), 1);
}
