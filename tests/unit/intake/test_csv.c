/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "intake/csv.h"

/* Reads all rows and prints them: `LINE|cell|cell` with `;` behind each row, a bad row with `!` for text after a
 * closing quote or `?` for an open quote behind its line. */
static void print_rows(const char *csv, size_t size, char out[1024])
{
    struct csv_reader reader;
    char *bytes = memory_resize(NULL, size + 1, 1);
    memcpy(bytes, csv, size);
    csv_start(&reader, bytes, size);
    size_t at = 0;
    uint32_t line;
    for (enum csv_row row; (row = csv_next(&reader, &line)) != CSV_END;) {
        const char *mark = row == CSV_BAD_QUOTE ? "!" : row == CSV_OPEN_QUOTE ? "?" : "";
        at += (size_t)snprintf(out + at, 1024 - at, "%u%s", line, mark);
        for (size_t i = 0; i < reader.cell_count; i++)
            at += (size_t)snprintf(out + at, 1024 - at, "|%.*s", TEXT_FORMAT(reader.cells[i]));
        at += (size_t)snprintf(out + at, 1024 - at, ";");
    }
    out[at] = '\0';
    csv_stop(&reader);
    memory_free(bytes);
}

struct vector {
    const char *csv, *rows;
};

static void expect_rows(const struct vector *vectors, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char printed[1024];
        print_rows(vectors[i].csv, strlen(vectors[i].csv), printed);
        cr_expect_str_eq(printed, vectors[i].rows, "%zu: '%s' gave '%s'", i, vectors[i].csv, printed);
    }
}
#define EXPECT_ROWS(vectors) expect_rows(vectors, sizeof vectors / sizeof *vectors)

/* RFC 4180, section 2, the examples of rules 1 to 7 in order. */
Test(csv, the_examples_of_rfc_4180_are_read)
{
    static const struct vector vectors[] = {
        {"aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", "1|aaa|bbb|ccc;2|zzz|yyy|xxx;"},
        {"aaa,bbb,ccc\r\nzzz,yyy,xxx", "1|aaa|bbb|ccc;2|zzz|yyy|xxx;"},
        {"field_name,field_name,field_name\r\naaa,bbb,ccc\r\n", "1|field_name|field_name|field_name;2|aaa|bbb|ccc;"},
        {"aaa,bbb,ccc", "1|aaa|bbb|ccc;"},
        {"\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx", "1|aaa|bbb|ccc;2|zzz|yyy|xxx;"},
        {"\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", "1|aaa|b\r\nbb|ccc;3|zzz|yyy|xxx;"},
        {"\"aaa\",\"b\"\"bb\",\"ccc\"", "1|aaa|b\"bb|ccc;"},
    };
    EXPECT_ROWS(vectors);
}

Test(csv, each_kind_of_line_end_counts_once)
{
    static const struct vector vectors[] = {
        {"a\nb\nc", "1|a;2|b;3|c;"},    {"a\r\nb\r\nc\r\n", "1|a;2|b;3|c;"},
        {"a\rb\rc\r", "1|a;2|b;3|c;"},  {"a\n\rb", "1|a;3|b;"},
        {"\"a\rb\"\rc", "1|a\rb;3|c;"}, {"\"a\nb\r\nc\rd\"\ne", "1|a\nb\r\nc\rd;5|e;"},
        {"\"a\r\"\nb", "1|a\r;3|b;"},   {"\"x\n\"\"y\"\"\n\",z\nw", "1|x\n\"y\"\n|z;4|w;"},
    };
    EXPECT_ROWS(vectors);
}

Test(csv, blank_lines_and_lines_of_commas_are_skipped)
{
    static const struct vector vectors[] = {
        {"", ""},
        {"\n\n\n", ""},
        {",,,\n , ,\t\n\"\",\"\"\n", ""},
        {"\n\na,b\n\n,,\nc,d\n", "3|a|b;6|c|d;"},
        {"a,\n,b", "1|a|;2||b;"},
    };
    EXPECT_ROWS(vectors);
}

Test(csv, blanks_around_cells_are_dropped)
{
    static const struct vector vectors[] = {
        {"  a b\t,\tc ,  ", "1|a b|c|;"},
        {"  \"a, b\"  ,\t\"c\"\t\nd", "1|a, b|c;2|d;"},
        {"\" a \",b", "1|a|b;"},
    };
    EXPECT_ROWS(vectors);
}

Test(csv, a_quote_inside_a_bare_cell_is_a_character)
{
    static const struct vector vectors[] = {
        {"5\" tube,a\"b\"c\n", "1|5\" tube|a\"b\"c;"},
    };
    EXPECT_ROWS(vectors);
}

Test(csv, text_after_a_closing_quote_spoils_its_row_only)
{
    static const struct vector vectors[] = {
        {"a,\"b\"c,d\ne,f", "1!|a;2|e|f;"},
        {"\"a\" \"b\",c\ne", "1!;2|e;"},
        {"a,\"he said \"no\", then left\",b\nc", "1!|a;2|c;"},
        {"a,\"b\"c,\"d\ne\"\nf", "1!|a;3|f;"},
        {"\"\"\"\"x\na", "1!;2|a;"},
        {"a,\"see\nb,\"\"\nc,\"d\"\"e\"\nf", "1!|a;2|b|;3|c|d\"e;4|f;"},
        {"a,\"b\r\nc,\"d\"\"\r\ne\" x,\"f", "1!|a;2!|c;3?|e\" x;"},
        {"\"a\nb\",\"c\nd\"e\nf", "1!|a\nb;3|d\"e;4|f;"},
    };
    EXPECT_ROWS(vectors);
}

Test(csv, a_quote_that_is_never_closed_takes_the_rest_as_one_row)
{
    static const struct vector vectors[] = {
        {"a,b\nc,\"d\ne,f\ng,h\n", "1|a|b;2?|c;"},
        {"a\n\"", "1|a;2?;"},
        {"\"a\"\"", "1?;"},
        {"a,\"b\"c,\"d\ne", "1?|a;"},
    };
    EXPECT_ROWS(vectors);
}

Test(csv, nul_bytes_are_bytes_like_others)
{
    struct csv_reader reader;
    char bytes[] = "a\0b,c";
    uint32_t line;
    csv_start(&reader, bytes, sizeof bytes - 1);
    cr_assert_eq(csv_next(&reader, &line), CSV_ROW);
    cr_expect_eq(reader.cell_count, 2);
    cr_expect_eq(reader.cells[0].size, 3);
    csv_stop(&reader);
}

/* What the reader promises for any bytes: cells lie within the buffer, lines never go back, it ends, and the last line
 * is within the number of line ends. Seeded, so that a failure repeats. */
Test(csv, any_bytes_are_read_to_their_end)
{
    static const char alphabet[] = "a1 \t,,,\"\"\"\n\r\n\r;\xC3\xFF";
    unsigned seed = 4180;
    for (int round = 0; round < 20000; round++) {
        char bytes[48];
        seed = seed * 1103515245U + 12345U;
        size_t size = seed >> 16 & 47;
        for (size_t i = 0; i < size; i++) {
            seed = seed * 1103515245U + 12345U;
            bytes[i] = alphabet[(seed >> 16) % (sizeof alphabet - 1)];
        }
        struct csv_reader reader;
        uint32_t line = 0, before = 0;
        enum csv_row row;
        csv_start(&reader, bytes, size);
        for (int rows = 0; (row = csv_next(&reader, &line)) != CSV_END; rows++) {
            cr_assert_lt(rows, 49);
            cr_assert_gt(line, before);
            cr_assert_leq(line, size + 1);
            before = line;
            for (size_t i = 0; i < reader.cell_count; i++)
                cr_assert(reader.cells[i].data >= bytes && reader.cells[i].data + reader.cells[i].size <= bytes + size);
            cr_assert(row != CSV_OPEN_QUOTE || reader.at == reader.end);
        }
        csv_stop(&reader);
    }
}

/* A row written with all cells quoted is read back as it was, whatever stands in them but blanks at their ends. */
Test(csv, quoted_cells_are_read_back_as_written)
{
    static const char alphabet[] = "ab,\"\"\n\r;x";
    unsigned seed = 2;
    for (int round = 0; round < 5000; round++) {
        char cell[9], csv[64] = "\"";
        size_t size = 0, at = 1;
        for (; size < 8; size++) {
            seed = seed * 1103515245U + 12345U;
            cell[size] = alphabet[(seed >> 16) % (sizeof alphabet - 1)];
            if (cell[size] == '"')
                csv[at++] = '"';
            csv[at++] = cell[size];
        }
        memcpy(csv + at, "\",z", 3);
        struct csv_reader reader;
        uint32_t line;
        csv_start(&reader, csv, at + 3);
        cr_assert_eq(csv_next(&reader, &line), CSV_ROW);
        cr_assert_eq(reader.cell_count, 2);
        cr_assert(text_equal(reader.cells[0], (struct text){cell, size}));
        cr_assert(text_is(reader.cells[1], "z"));
        cr_assert_eq(csv_next(&reader, &line), CSV_END);
        csv_stop(&reader);
    }
}
