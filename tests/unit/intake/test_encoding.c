/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "intake/encoding.h"

struct outcome {
    bool good;
    char text[64]; /* what it became, from its start */
    size_t size;
    const char *note;
    char why[WHY_SIZE];
};

static struct outcome decode(struct text given)
{
    struct outcome outcome = {0};
    char *bytes = memory_resize(NULL, given.size + 1, 1);
    size_t size = given.size, start = 0;
    memcpy(bytes, given.data, size);
    outcome.good = encoding_to_utf8(&bytes, &size, &start, &outcome.note, outcome.why);
    if (outcome.good) {
        cr_assert_leq(start, size);
        cr_assert_lt(size - start, sizeof outcome.text);
        outcome.size = size - start;
        memcpy(outcome.text, bytes + start, outcome.size);
    }
    memory_free(bytes);
    return outcome;
}

/* Code points by the Unicode Standard 15.0, tables of UTF-8 and UTF-16 in section 3.9; Windows-1252 by the mapping
 * table that the Unicode Consortium publishes (MAPPINGS/VENDORS/MICSFT/WINDOWS/CP1252.TXT). */
Test(encoding, files_are_recognised)
{
    static const char windows[] = "is not UTF-8; read as Windows-1252";
    static const struct {
        struct text given;
        const char *text, *note;
    } vectors[] = {
        {{"", 0}, "", NULL},
        {{"test,note\n", 10}, "test,note\n", NULL},
        {{"caf\xC3\xA9", 5}, "caf\xC3\xA9", NULL},
        {{"\xEF\xBB\xBFtest", 7}, "test", NULL},
        {{"\xEF\xBB\xBF", 3}, "", NULL},
        {{"\xFF\xFEt\0\xE9\0", 6}, "t\xC3\xA9", NULL},
        {{"\xFE\xFF\0t\0\xE9", 6}, "t\xC3\xA9", NULL},
        {{"\xFF\xFE", 2}, "", NULL},
        {{"\xFF\xFE\x3D\xD8\x80\xDE", 6}, "\xF0\x9F\x9A\x80", NULL}, /* a pair of surrogates */
        {{"caf\xE9,\x80 5\x85", 9}, "caf\xC3\xA9,\xE2\x82\xAC 5\xE2\x80\xA6", windows},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        struct outcome outcome = decode(vectors[i].given);
        cr_expect(outcome.good, "%zu: %s", i, outcome.why);
        cr_expect(text_is((struct text){outcome.text, outcome.size}, vectors[i].text), "%zu", i);
        cr_expect_eq(outcome.note == NULL, vectors[i].note == NULL, "%zu", i);
        if (outcome.note != NULL)
            cr_expect_str_eq(outcome.note, vectors[i].note);
    }
}

Test(encoding, what_cannot_be_read_for_sure_is_refused_with_the_reason)
{
    static const struct {
        struct text given;
        const char *why;
    } vectors[] = {
        {{"\xFF\xFE\0\0t\0\0\0", 8}, "is UTF-32; save it as UTF-8"},
        {{"\0\0\xFE\xFF\0\0\0t", 8}, "is UTF-32; save it as UTF-8"},
        {{"\xFF\xFEt\0x", 5}, "begins as UTF-16, but is not valid UTF-16 throughout"},        /* half a character */
        {{"\xFF\xFE\x3D\xD8t\0", 6}, "begins as UTF-16, but is not valid UTF-16 throughout"}, /* half a pair */
        {{"\xFF\xFEt\0\0\0", 6}, "holds NUL characters; it is no text"},
        {{"t\0e\0", 4}, "holds NUL bytes: no text, or UTF-16 without a byte order mark; save it as UTF-8"},
        {{"PK\3\4rest", 8}, "is a workbook or archive, no CSV; save the sheet as CSV"},
        {{"\xEF\xBB\xBF"
          "a\nb\xE9",
          7},
         "says that it is UTF-8, but is not on line 2"},
        {{"a\nb\r\nc\x81", 7}, "is neither UTF-8 (line 3) nor Windows-1252; save it as UTF-8"},
        {{"\xC3\xA9\ncaf\xE9", 7}, "mixes UTF-8 with other bytes, first on line 2; save it as UTF-8"},
        {{"\x89PNG\r\n\x1A\n", 8}, "is no text"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        struct outcome outcome = decode(vectors[i].given);
        cr_expect_not(outcome.good, "%zu", i);
        cr_expect_str_eq(outcome.why, vectors[i].why, "%zu: %s", i, outcome.why);
    }
}

Test(encoding, every_byte_of_windows_1252_that_has_a_meaning_is_read)
{
    static const unsigned char holes[] = {0x81, 0x8D, 0x8F, 0x90, 0x9D};
    for (int byte = 0x80; byte <= 0xFF; byte++) {
        char given[] = {(char)byte};
        bool hole = memchr(holes, byte, sizeof holes) != NULL;
        cr_expect_eq(decode((struct text){given, 1}).good, !hole, "%x", byte);
    }
}
