/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "base/utf8.h"

Test(text, an_absent_text_is_not_an_empty_one)
{
    cr_expect(text_equal(text_of(NULL), text_of(NULL)));
    cr_expect(text_equal(TEXT(""), text_of("")));
    cr_expect_not(text_equal(text_of(NULL), TEXT("")));
    cr_expect_not(text_is(text_of(NULL), ""));
    cr_expect(text_is(TEXT("lot"), "lot"));
    cr_expect_not(text_is(TEXT("lot"), "lots"));
    cr_expect_not(text_is(TEXT("lot"), "lit"));
}

Test(text, texts_are_ordered_by_their_bytes)
{
    const struct text sorted[] = {text_of(NULL), TEXT(""),  TEXT("A"), TEXT("A\0"),  TEXT("A1"),      TEXT("A10"),
                                  TEXT("A2"),    TEXT("a"), TEXT("b"), TEXT("\x7f"), TEXT("\xc3\xa9")};
    size_t count = sizeof sorted / sizeof *sorted;
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count; j++)
            cr_expect_eq(text_compare(sorted[i], sorted[j]), (i > j) - (i < j), "%zu, %zu", i, j);
}

Test(text, prefixes_and_blanks_are_seen)
{
    cr_expect(text_starts(TEXT("tests.csv"), "tests"));
    cr_expect(text_starts(TEXT("tests"), ""));
    cr_expect_not(text_starts(TEXT("test"), "tests"));
    cr_expect_not(text_starts(text_of(NULL), ""));
    cr_expect(text_ends(TEXT("page.HTML"), ".html"));
    cr_expect_not(text_ends(TEXT(".html"), ".html"));
    cr_expect_not(text_ends(TEXT("pagehtml"), ".html"));
    cr_expect_not(text_ends(text_of(NULL), ""));
    cr_expect(text_is(text_trim(TEXT(" \t a b\t ")), "a b"));
    cr_expect(text_is(text_trim(TEXT(" \t ")), ""));
    cr_expect(text_is(text_trim(TEXT("\n a")), "\n a"));
    cr_expect_null(text_trim(text_of(NULL)).data);
}

Test(text, case_matters_only_where_it_is_asked_for)
{
    cr_expect(text_same(TEXT("Performed_AT"), TEXT("performed_at")));
    cr_expect_not(text_same(TEXT("performed_a"), TEXT("performed_at")));
    cr_expect_not(text_same(TEXT("[at"), TEXT("{at")));           /* 32 apart, as A and a are, but no letters */
    cr_expect_not(text_same(TEXT("\xC3\x89"), TEXT("\xC3\xA9"))); /* A to Z only */
    cr_expect(text_same(TEXT(""), TEXT("")));
    cr_expect_not(text_same(text_of(NULL), TEXT("")));
}

Test(text, copies_end_with_a_nul_and_live_in_the_arena)
{
    AUTO(arena) arena = arena_new();
    char buffer[] = "K118,31";
    struct text copy = text_keep(arena, (struct text){buffer, 4});
    memset(buffer, '?', sizeof buffer);
    cr_expect(text_is(copy, "K118"));
    cr_expect_str_eq(copy.data, "K118");
    cr_expect_null(text_keep(arena, text_of(NULL)).data);
    cr_expect_null(text_string(arena, text_of(NULL)));
    cr_expect_str_eq(text_string(arena, TEXT("")), "");
    struct text printed = text_print(arena, "%s:%d", "tests.csv", 105);
    cr_expect(text_is(printed, "tests.csv:105"));
    cr_expect_str_eq(printed.data, "tests.csv:105");
}

static uint64_t fold(uint64_t a, uint64_t b)
{
    __extension__ typedef unsigned __int128 wide;
    return (uint64_t)((wide)a * b) ^ (uint64_t)((wide)a * b >> 64);
}

/* Where the hash of a text of `size` bytes stands after its first eight, by the description in text.c. */
static uint64_t text_hash_after_eight(size_t size, uint64_t first_eight, uint64_t key)
{
    return fold(fold(size + 0x13198a2e03707345u, key) ^ first_eight, key);
}

/* The first word of pi's fraction, made odd. */
static const uint64_t some_key = 0x243f6a8885a308d3u;

/* The values were computed by a separate program, from the description in text.c, with whole numbers of any size. */
Test(text, with_one_key_hashes_are_the_same_everywhere)
{
    static const struct {
        const char *text;
        uint64_t hash;
    } rows[] = {
        {"", 0xd2e58e8ef90d912f},
        {"A1", 0x60ffea4ef407397e},
        {"T-000104", 0xb92cac440334724b},
        {"quarry-lane/T-000104", 0x6897abac4c2de756},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect_eq(text_hash(text_of(rows[i].text), some_key), rows[i].hash, "%s", rows[i].text);
}

/* A table of 2^16 places filled with 2^16 numbered names: with a fair hash e^-1 = 36.8 % of the places stay free (the
 * occupancy problem); the standard deviation is 0.12 %. */
Test(text, hashes_of_numbered_names_spread_like_chance)
{
    enum { PLACES = 65536 };
    static unsigned char low[PLACES], high[PLACES];
    for (int i = 0; i < PLACES; i++) {
        char name[16];
        snprintf(name, sizeof name, "T-%07d", i);
        uint64_t hash = text_hash(text_of(name), some_key);
        low[hash % PLACES] = 1;
        high[hash >> 48] = 1;
    }
    int low_free = 0, high_free = 0;
    for (int i = 0; i < PLACES; i++) {
        low_free += !low[i];
        high_free += !high[i];
    }
    cr_expect(low_free > 0.36 * PLACES && low_free < 0.376 * PLACES, "%d", low_free);
    cr_expect(high_free > 0.36 * PLACES && high_free < 0.376 * PLACES, "%d", high_free);
}

/* Sixteen bytes chosen so that with the key above the hash stands at one value after the first eight and the next eight
 * take it back: all collide there, and with a key of chance none does. */
Test(text, texts_made_to_collide_with_one_key_do_not_with_another)
{
    enum { TEXTS = 64 };
    uint64_t with_key[TEXTS], by_chance[TEXTS], key = text_hash_key();
    int same = 0, same_by_chance = 0;
    cr_assert(key % 2 == 1 && key != text_hash_key());
    for (uint64_t i = 0; i < TEXTS; i++) {
        uint64_t words[2] = {i, text_hash_after_eight(16, i, some_key)};
        struct text text = {(const char *)words, sizeof words};
        with_key[i] = text_hash(text, some_key);
        by_chance[i] = text_hash(text, key);
        same += with_key[i] == with_key[0];
        same_by_chance += by_chance[i] == by_chance[0];
    }
    cr_expect_eq(same, TEXTS);
    cr_expect_eq(same_by_chance, 1);
}

Test(text, the_nearest_word_is_offered)
{
    static const char *const words[] = {"result", "operator", "audit", "lot", "level", "performed_at", NULL};
    static const struct {
        const char *word, *nearest;
    } rows[] = {
        {"resutl", "result"},
        {"results", "result"},
        {"rsult", "result"},
        {"result", "result"},
        {"opperator", "operator"},
        {"audti", "audit"},
        {"lott", "lot"},
        {"lto", "lot"},
        {"preformed_at", "performed_at"},
        {"levle", "level"},
        {"lo", NULL},
        {"humidity", NULL},
        {"", NULL},
        {"xyzzyx", NULL},
        {"RESULT", NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const char *nearest = text_nearest(text_of(rows[i].word), words);
        cr_expect((nearest == NULL) == (rows[i].nearest == NULL), "%s: %s", rows[i].word, nearest ? nearest : "none");
        if (nearest != NULL && rows[i].nearest != NULL)
            cr_expect_str_eq(nearest, rows[i].nearest, "%s: %s", rows[i].word, nearest);
    }
    char endless[1000];
    memset(endless, 'a', sizeof endless);
    cr_expect_null(text_nearest((struct text){endless, sizeof endless}, words));
    cr_expect_null(text_nearest(text_of(NULL), words));
    cr_expect_str_eq(text_nearest(TEXT("ab"), (const char *const[]){"abc", "ab", NULL}), "ab");
    cr_expect_str_eq(text_nearest(TEXT("abd"), (const char *const[]){"abc", "abe", NULL}), "abc",
                     "the first of equals");
}

Test(utf8, what_does_not_show_is_a_question_mark)
{
    AUTO(arena) arena = arena_new();
    cr_expect(text_is(utf8_shown(arena, TEXT("a\x1b[2J\nb")), "a?[2J?b"));
    cr_expect(text_is(utf8_shown(arena, TEXT("Müller \xff")), "Müller ?"));
    cr_expect(text_is(utf8_shown(arena, TEXT("")), ""));
}
