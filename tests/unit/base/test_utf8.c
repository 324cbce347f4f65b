/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>

#include "base/utf8.h"

/* RFC 3629, section 3 (the table of byte sequences) and section 10 (what decoders must refuse). */
Test(utf8, only_the_sequences_of_rfc_3629_are_characters)
{
    static const struct {
        struct text text;
        size_t valid;
        uint32_t character; /* of the first, where it is valid */
    } vectors[] = {
        {{"A", 1}, 1, 'A'},
        {{"\xC2\x80", 2}, 2, 0x80},
        {{"\xC3\xA9", 2}, 2, 0xE9},
        {{"\xE2\x89\xA2", 3}, 3, 0x2262},
        {{"\xEF\xBF\xBF", 3}, 3, 0xFFFF},
        {{"\xF0\xA3\x8E\xB4", 4}, 4, 0x233B4},
        {{"\xF4\x8F\xBF\xBF", 4}, 4, 0x10FFFF},
        {{"\xC0\x80", 2}, 0, 0}, /* overlong NUL */
        {{"\xC1\xBF", 2}, 0, 0},
        {{"\xE0\x80\x80", 3}, 0, 0},     /* overlong */
        {{"\xF0\x8F\xBF\xBF", 4}, 0, 0}, /* overlong */
        {{"\xED\xA0\x80", 3}, 0, 0},     /* surrogate */
        {{"\xED\xBF\xBF", 3}, 0, 0},     /* surrogate */
        {{"\xF4\x90\x80\x80", 4}, 0, 0}, /* above U+10FFFF */
        {{"\xF5\x80\x80\x80", 4}, 0, 0},
        {{"\x80", 1}, 0, 0},
        {{"\xC3", 1}, 0, 0},     /* cut */
        {{"\xE2\x89", 2}, 0, 0}, /* cut */
        {{"\xC3(", 2}, 0, 0},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        uint32_t character = 0;
        size_t size = 0;
        bool valid = utf8_first(vectors[i].text, &character, &size);
        cr_expect_eq(valid, vectors[i].valid > 0, "%zu", i);
        cr_expect_eq(size, valid ? vectors[i].valid : 1, "%zu", i);
        cr_expect_eq(utf8_valid_size(vectors[i].text), vectors[i].valid, "%zu", i);
        if (valid)
            cr_expect_eq(character, vectors[i].character, "%zu", i);
    }
}

Test(utf8, the_first_bad_byte_is_found_wherever_it_lies)
{
    char bytes[40];
    for (size_t bad = 0; bad < sizeof bytes; bad++) {
        for (size_t i = 0; i < sizeof bytes; i++)
            bytes[i] = i == bad ? '\xFF' : 'a';
        cr_expect_eq(utf8_valid_size((struct text){bytes, sizeof bytes}), bad);
    }
}

Test(utf8, characters_are_counted_and_cut_whole)
{
    struct text text = TEXT("a\xC3\xA9\xE2\x82\xAC\xFF!");
    cr_expect_eq(utf8_count(text), 5);
    cr_expect_eq(utf8_cut(text, 0).size, 0);
    cr_expect_eq(utf8_cut(text, 2).size, 3);
    cr_expect_eq(utf8_cut(text, 3).size, 6);
    cr_expect_eq(utf8_cut(text, 9).size, text.size);
    cr_expect_eq(utf8_count(TEXT("")), 0);
}

Test(utf8, what_nobody_sees_cannot_be_read)
{
    static const char *const unseen[] = {"",
                                         " \t",
                                         "\xC2\xA0",     /* a hard blank */
                                         "\xE2\x80\x8B", /* of no width */
                                         "\xE3\x85\xA4", /* fillers of Hangul */
                                         "\xEF\xBE\xA0 \xE1\x85\x9F\xE1\x85\xA0",
                                         "\xE2\xA0\x80", /* an empty Braille pattern */
                                         "\xEF\xB8\x8F", /* selectors */
                                         "\xF3\xA0\x84\x80"};
    static const char *const seen[] = {".", " a", "\xED\x95\x9C", "\xE2\xA0\x81", "\xFF", "\xE2\x80\x8Bx"};
    for (size_t i = 0; i < sizeof unseen / sizeof *unseen; i++) {
        cr_expect_not(utf8_can_be_read(text_of(unseen[i])), "%zu", i);
        cr_expect(utf8_reads_same(TEXT("misread"), text_of(i % 2 ? " misread" : "mis\xE2\x80\x8Bread")));
    }
    for (size_t i = 0; i < sizeof seen / sizeof *seen; i++)
        cr_expect(utf8_can_be_read(text_of(seen[i])), "%zu", i);
    cr_expect_not(utf8_reads_same(TEXT("misread"), TEXT("misread.")));
    cr_expect_not(utf8_reads_same(TEXT("misread."), TEXT("misread")));
    cr_expect(utf8_reads_same((struct text){0}, TEXT("\xC2\xA0")));
}

/* General categories of the Unicode Character Database, 15.0 (DerivedGeneralCategory.txt). */
Test(utf8, characters_without_a_shape_do_not_print)
{
    static const uint32_t printable[] = {' ', '~', 0xA1, 0xE9, 0x3A9, 0x2010, 0x20AC, 0x4E2D, 0x1F680};
    static const uint32_t hidden[] = {0xFDD0, 0xFFFE, 0xFFFF, 0x1FFFF, 0,      '\t',    '\n',
                                      0x1F,   0x7F,   0x85,   0xA0,    0xAD,   0x200B,  0x2028,
                                      0x202E, 0x2060, 0x3000, 0xE000,  0xFEFF, 0xE0001, 0x10FFFD};
    for (size_t i = 0; i < sizeof printable / sizeof *printable; i++)
        cr_expect(utf8_is_printable(printable[i]), "%x", printable[i]);
    for (size_t i = 0; i < sizeof hidden / sizeof *hidden; i++)
        cr_expect_not(utf8_is_printable(hidden[i]), "%x", hidden[i]);
}

Test(utf8, what_is_no_text_is_mended)
{
    AUTO(arena) arena = arena_new();
    static const struct {
        const char *text, *mended;
    } vectors[] = {
        {"", ""},
        {"a\t\xc3\xa4\r\n\xc2\xa0", "a\t\xc3\xa4\r\n\xc2\xa0"},
        {"\x1b[2J", "\xef\xbf\xbd[2J"},
        {"r\xff\xc0", "r\xef\xbf\xbd\xef\xbf\xbd"},
        {"\xc3", "\xef\xbf\xbd"},
        {"ok\x7f", "ok\xef\xbf\xbd"},
        {"1\xef\xbf\xbe\xef\xb7\x90\xf0\x9f\xbf\xbf", "1\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd"}, /* FFFE FDD0 1FFFF */
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        struct text mended = utf8_mended(arena, text_of(vectors[i].text));
        cr_expect(text_is(mended, vectors[i].mended), "%zu: %.*s", i, TEXT_FORMAT(mended));
    }
}
