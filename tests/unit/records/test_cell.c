/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "records/cell.h"

static const char *const words[] = {"reagent", "control", NULL};

/* Any column of the type; the words matter to CELL_WORD and CELL_WORDS only. */
static struct column column_of(enum cell_type type)
{
    return (struct column){.name = "column", .type = type, .words = words};
}

static bool parse(enum cell_type type, const char *text, struct cell *out, const char **why)
{
    struct column column = column_of(type);
    return cell_parse(&column, text_of(text), out, why);
}

static const char *const x64 = "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx";
static const char *const x65 = "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx";

Test(cell, each_type_takes_what_it_should)
{
    const struct {
        enum cell_type type;
        const char *text;
        int64_t whole;
    } vectors[] = {
        {CELL_ID, "A1", 0},
        {CELL_ID, "a b;c\"d", 0},
        {CELL_ID, "\xC3\xA9\xE2\x82\xAC\xF0\x9F\x9A\x80", 0}, /* é € and a rocket */
        {CELL_ID, x64, 0},
        {CELL_DATE, "2000-01-01", 0},
        {CELL_DATE, "2099-12-31", DAY_LAST},
        {CELL_DATE, "2000-02-29", 59},
        {CELL_TIME, "2000-01-01 00:01", 120},
        {CELL_TIME, "2000-01-01T00:01", 120},
        {CELL_TIME, "2000-01-01 00:01:00", 121}, /* the last bit says that there were seconds */
        {CELL_NUMBER, "-5.40", 0},
        {CELL_NUMBER, ".5", 0},
        {CELL_WHOLE, "007", 7},
        {CELL_WHOLE, "+12", 12},
        {CELL_WHOLE, "-999999999999999", -999999999999999},
        {CELL_WHOLE, "999999999999999", 999999999999999},
        {CELL_RESULT, "5.4", 0},
        {CELL_RESULT, "<0.5", 0},
        {CELL_RESULT, "not a number", 0},
        {CELL_YES_NO, "yes", 1},
        {CELL_YES_NO, "no", 0},
        {CELL_YES_NO, "y", 1},
        {CELL_YES_NO, "n", 0},
        {CELL_YES_NO, "true", 1},
        {CELL_YES_NO, "false", 0},
        {CELL_YES_NO, "1", 1},
        {CELL_YES_NO, "0", 0},
        {CELL_YES_NO, "TRUE", 1}, /* as spreadsheets write it */
        {CELL_YES_NO, "No", 0},
        {CELL_WORD, "reagent", 0},
        {CELL_WORD, "control", 1},
        {CELL_WORDS, "reagent; something else", 0},
        {CELL_TEXT, "two\nlines", 0},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        struct cell cell;
        const char *why = NULL;
        cr_expect(parse(vectors[i].type, vectors[i].text, &cell, &why), "'%s': %s", vectors[i].text, why);
        cr_expect(cell.present);
        cr_expect_eq(cell.whole, vectors[i].whole, "'%s'", vectors[i].text);
        cr_expect(text_is(cell.text, vectors[i].text));
    }
}

Test(cell, each_type_refuses_in_plain_words)
{
    const struct {
        enum cell_type type;
        const char *text, *why;
    } vectors[] = {
        {CELL_ID, x65, "longer than 64 characters"},
        {CELL_ID, "A\t1", "holds a character that does not print"},
        {CELL_ID, "A\n1", "holds a character that does not print"},
        {CELL_ID, "A\x7F", "holds a character that does not print"},
        {CELL_ID, "A\xC2\x85", "holds a character that does not print"},     /* U+0085, a C1 control */
        {CELL_ID, "A\xC2\xA0\x31", "holds a character that does not print"}, /* a no-break space looks like a blank */
        {CELL_ID, "A\xE2\x80\x8B", "holds a character that does not print"}, /* U+200B, nothing at all to see */
        {CELL_ID, "A\xFF", "is no valid UTF-8"},
        {CELL_DATE, "2026-02-30", "not a real calendar date"},
        {CELL_DATE, "2026-13-01", "not a real calendar date"},
        {CELL_DATE, "1999-12-31", "outside 2000 to 2099"},
        {CELL_DATE, "2100-01-01", "outside 2000 to 2099"},
        {CELL_DATE, "10/07/2026", "expected YYYY-MM-DD"},
        {CELL_DATE, "2026-1-7", "expected YYYY-MM-DD"},
        {CELL_DATE, "2026-10-07 09:12", "expected YYYY-MM-DD"},
        {CELL_TIME, "2026-10-07", "expected YYYY-MM-DD HH:MM"},
        {CELL_TIME, "2026-10-07 9:12", "expected YYYY-MM-DD HH:MM"},
        {CELL_TIME, "2026-10-07 09:12+02:00", "expected YYYY-MM-DD HH:MM"},
        {CELL_TIME, "2026-10-07 09:12 PM", "expected YYYY-MM-DD HH:MM"},
        {CELL_TIME, "2026-10-07 24:00", "not a time of day"},
        {CELL_TIME, "2026-02-29 10:00", "not a real calendar date"},
        {CELL_NUMBER, "4,5", "expected a number"},
        {CELL_NUMBER, "1e3", "expected a number"},
        {CELL_NUMBER, "<5", "expected a number"},
        {CELL_WHOLE, "12.0", "expected a whole number"},
        {CELL_WHOLE, "-", "expected a whole number"},
        {CELL_WHOLE, "12a", "expected a whole number"},
        {CELL_WHOLE, "1000000000000000", "a whole number of more than 15 digits"},
        {CELL_WHOLE, "-1000000000000000", "a whole number of more than 15 digits"},
        {CELL_WHOLE, "99999999999999999999999", "a whole number of more than 15 digits"},
        {CELL_YES_NO, "maybe", "expected yes or no"},
        {CELL_YES_NO, "yess", "expected yes or no"},
        {CELL_YES_NO, "truefalse", "expected yes or no"},
        {CELL_WORD, "Reagent", "none of the words of this column"},
        {CELL_WORD, "reagents", "none of the words of this column"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        struct cell cell;
        const char *why = "";
        cr_expect_not(parse(vectors[i].type, vectors[i].text, &cell, &why), "'%s'", vectors[i].text);
        cr_expect_str_eq(why, vectors[i].why, "'%s'", vectors[i].text);
    }
}

Test(cell, free_text_is_measured_in_characters)
{
    static char text[2 * 4001 + 1];
    struct cell cell;
    const char *why;
    for (size_t i = 0; i < 4001; i++)
        memcpy(text + 2 * i, "\xC3\xA9", 2);
    cr_expect_not(parse(CELL_TEXT, text, &cell, &why));
    cr_expect_str_eq(why, "longer than 4,000 characters");
    text[2 * 4000] = '\0';
    cr_expect(parse(CELL_TEXT, text, &cell, &why));
}

static struct cell cell_of(enum cell_type type, const char *text)
{
    struct cell cell = {0};
    const char *why;
    if (text != NULL)
        cr_expect(parse(type, text, &cell, &why), "'%s'", text);
    return cell;
}

static bool same_canonical(const struct column *column, const struct cell *a, const struct cell *b)
{
    char left[256], right[256];
    size_t left_size = cell_canonical(column, a, left), right_size = cell_canonical(column, b, right);
    cr_expect_leq(left_size, CELL_CANONICAL_SIZE(a));
    cr_expect_eq(left[left_size - 1], 0x1F);
    return left_size == right_size && memcmp(left, right, left_size) == 0;
}

Test(cell, values_that_are_the_same_once_typed_are_equal_and_have_the_same_bytes)
{
    const struct {
        enum cell_type type;
        const char *a, *b;
        bool equal;
    } vectors[] = {
        {CELL_NUMBER, "5.4", "5.40", true},
        {CELL_NUMBER, "5.4", "5.41", false},
        {CELL_NUMBER, "-0", "+0.0", true},
        {CELL_RESULT, "5.4", "5.40", true},
        {CELL_RESULT, "<5", "<5.0", true},
        {CELL_RESULT, "<5", ">5", false},
        {CELL_RESULT, "<5", "5", false},
        {CELL_RESULT, "< 5", "<5", false}, /* with a blank it is a word */
        {CELL_RESULT, "positive", "Positive", false},
        {CELL_TIME, "2026-10-07 09:00", "2026-10-07T09:00:00", true},
        {CELL_TIME, "2026-10-07 09:00", "2026-10-07 09:00:01", false},
        {CELL_DATE, "2026-10-07", "2026-10-08", false},
        {CELL_YES_NO, "yes", "Y", true},
        {CELL_YES_NO, "1", "false", false},
        {CELL_WHOLE, "7", "007", true},
        {CELL_WHOLE, "7", "-7", false},
        {CELL_WORD, "reagent", "control", false},
        {CELL_WORDS, "a;b", " a ; b ;", true},
        {CELL_WORDS, "a;b", "b;a", false},
        {CELL_WORDS, "a", "a;b", false},
        {CELL_WORDS, ";", NULL, false},
        {CELL_ID, "a1", "A1", false},
        {CELL_ID, "5.4", "5.40", false},
        {CELL_TEXT, "a\x1F", "a", false},
        {CELL_TEXT, "a\x1F\x62", "a\x1EOb", false}, /* the second looks like the first one's escaped form */
        {CELL_TEXT, NULL, "a", false},
        {CELL_TEXT, NULL, NULL, true},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        struct column column = column_of(vectors[i].type);
        struct cell a = cell_of(vectors[i].type, vectors[i].a), b = cell_of(vectors[i].type, vectors[i].b);
        cr_expect_eq(cell_equal(&column, &a, &b), vectors[i].equal, "'%s', '%s'", vectors[i].a, vectors[i].b);
        cr_expect_eq(cell_equal(&column, &b, &a), vectors[i].equal, "'%s', '%s'", vectors[i].b, vectors[i].a);
        cr_expect_eq(same_canonical(&column, &a, &b), vectors[i].equal, "'%s', '%s'", vectors[i].a, vectors[i].b);
    }
}

Test(cell, lists_give_their_words_and_tell_the_unknown_ones)
{
    struct column column = column_of(CELL_WORDS);
    struct text list = TEXT(" reagent ;; wrong;control; "), word;
    cr_assert(cell_next_word(&list, &word));
    cr_expect(text_is(word, "reagent"));
    cr_assert(cell_unknown_word(&column, &list, &word));
    cr_expect(text_is(word, "wrong"));
    cr_expect_not(cell_unknown_word(&column, &list, &word));
    cr_expect_not(cell_next_word(&list, &word));
}

Test(cell, results_are_numbers_bounds_or_words)
{
    static const struct {
        const char *text;
        enum result_kind kind;
        double number;
        const char *numeral;
    } vectors[] = {
        {"5.40", RESULT_NUMBER, 5.4, "5.40"},     {"-5", RESULT_NUMBER, -5, "-5"},
        {"<0.5", RESULT_BELOW, 0.5, "0.5"},       {">14.0", RESULT_ABOVE, 14, "14.0"},
        {">-1", RESULT_ABOVE, -1, "-1"},          {"< 5", RESULT_WORD, 0, "< 5"},
        {"<=5", RESULT_WORD, 0, "<=5"},           {"<", RESULT_WORD, 0, "<"},
        {"positive", RESULT_WORD, 0, "positive"}, {"5,4", RESULT_WORD, 0, "5,4"},
        {"5.4 %", RESULT_WORD, 0, "5.4 %"},       {"1e3", RESULT_WORD, 0, "1e3"},
        {"<low>", RESULT_WORD, 0, "<low>"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        struct result result = result_of(text_of(vectors[i].text));
        cr_expect_eq(result.kind, vectors[i].kind, "%s", vectors[i].text);
        cr_expect_eq(result.number, vectors[i].number, "%s", vectors[i].text);
        cr_expect(text_is(result.text, vectors[i].numeral), "%s", vectors[i].text);
    }
}
