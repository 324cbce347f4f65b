/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdint.h>

#include "base/output.h"

static void expect_written(struct output *output, const char *expected)
{
    struct text taken = output_taken(output);
    cr_expect(text_is(taken, expected), "%.*s", TEXT_FORMAT(taken));
}

Test(json, containers_are_laid_out_by_blocks_and_lines)
{
    AUTO(output) output = output_memory();
    AUTO(json) json = json_new(output);
    json_object(json, NULL, false);
    json_string(json, "format", "assize-findings/1");
    json_object(json, "period", true);
    json_string(json, "from", "2026-10-01");
    json_string(json, "to", "2026-10-31");
    json_end(json);
    json_list(json, "sites", false);
    for (int i = 0; i < 2; i++) {
        json_object(json, NULL, true);
        json_string(json, "site", i == 0 ? "quarry-lane" : "mill-street");
        json_whole(json, "tests", 412 + i);
        json_list(json, "names", false); /* within a line everything stays on it */
        json_whole(json, NULL, 1);
        json_whole(json, NULL, 2);
        json_end(json);
        json_end(json);
    }
    json_end(json);
    json_list(json, "none", false);
    json_end(json);
    json_object(json, "nothing", true);
    json_end(json);
    json_end(json);
    expect_written(output, "{\n"
                           "  \"format\": \"assize-findings/1\",\n"
                           "  \"period\": {\"from\": \"2026-10-01\", \"to\": \"2026-10-31\"},\n"
                           "  \"sites\": [\n"
                           "    {\"site\": \"quarry-lane\", \"tests\": 412, \"names\": [1, 2]},\n"
                           "    {\"site\": \"mill-street\", \"tests\": 413, \"names\": [1, 2]}\n"
                           "  ],\n"
                           "  \"none\": [],\n"
                           "  \"nothing\": {}\n"
                           "}\n");
}

Test(json, values_of_every_type_are_written)
{
    AUTO(output) output = output_memory();
    AUTO(json) json = json_new(output);
    json_list(json, NULL, true);
    json_whole(json, NULL, INT64_MIN);
    json_whole(json, NULL, INT64_MAX);
    json_bool(json, NULL, true);
    json_bool(json, NULL, false);
    json_null(json, NULL);
    json_text(json, NULL, text_of(NULL));
    json_string(json, NULL, NULL);
    json_text(json, NULL, TEXT(""));
    json_end(json);
    expect_written(output, "[-9223372036854775808, 9223372036854775807, true, false, null, null, null, \"\"]\n");
}

/* Source: RFC 8259, section 7: the quotation mark, the reverse solidus and U+0000 to U+001F must be escaped. */
Test(json, what_must_be_escaped_is_and_the_rest_is_not)
{
    AUTO(output) output = output_memory();
    AUTO(json) json = json_new(output);
    json_object(json, NULL, true);
    json_text(json, "a\"b", TEXT("\"\\/\b\f\n\r\t"));
    json_text(json, "c", TEXT("\x00\x01\x1f \x7f"));
    json_text(json, "d", TEXT("déjà … 37 °C"));
    json_end(json);
    expect_written(output, "{\"a\\\"b\": \"\\\"\\\\/\\b\\f\\n\\r\\t\", \"c\": \"\\u0000\\u0001\\u001f \x7f\", "
                           "\"d\": \"déjà … 37 °C\"}\n");
}

Test(json, what_is_no_utf8_is_replaced)
{
    AUTO(output) output = output_memory();
    AUTO(json) json = json_new(output);
    json_string(json, NULL,
                "a\xff\xc3\xa4\xc3"
                "b\xed\xa0\x80");
    expect_written(output, "\"a\\ufffd\xc3\xa4\\ufffd"
                           "b\\ufffd\\ufffd\\ufffd\"");
}

Test(json, containers_nest_deeply)
{
    enum { DEEP = 1000 };
    AUTO(output) output = output_memory();
    AUTO(json) json = json_new(output);
    for (int i = 0; i < DEEP; i++)
        json_list(json, NULL, true);
    for (int i = 0; i < DEEP; i++)
        json_end(json);
    cr_expect_eq(output_taken(output).size, 2 * DEEP + 1);
}
