/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writers of text: whatever records say, CSV and JSON read back as the same, HTML and SVG have the tags that harmless
 * words would give, and what is shown on a terminal holds no control. The input is cut into cells at 1F and rows at 1E.
 */
#include <stdio.h>
#include <string.h>

#include "base/output.h"
#include "base/utf8.h"
#include "common/fuzz.h"
#include "intake/csv.h"
#include "reports/html.h"
#include "reports/markup.h"
#include "reports/pictures/svg.h"

enum { DIVIDES_CELLS = 0x1F, DIVIDES_ROWS = 0x1E };

/* ---- CSV ---- */

/* A reader drops blanks around a cell, also quoted ones, and rows of empty cells. */
static bool row_is_blank(struct text row)
{
    struct text cell;
    while (fuzz_part(&row, DIVIDES_CELLS, &cell))
        if (text_trim(cell).size > 0)
            return false;
    return true;
}

static void require_csv(struct text input)
{
    struct text rest = input, row, cell;
    AUTO(output) output = output_memory();
    while (fuzz_part(&rest, DIVIDES_ROWS, &row)) {
        for (bool first = true; fuzz_part(&row, DIVIDES_CELLS, &cell); first = false)
            csv_cell(output, first, cell);
        csv_row_end(output);
    }
    struct csv_reader reader;
    uint32_t line;
    char *bytes = fuzz_copy(output_taken(output));
    csv_start(&reader, bytes, output_taken(output).size);
    for (rest = input; fuzz_part(&rest, DIVIDES_ROWS, &row);) {
        if (row_is_blank(row))
            continue;
        REQUIRE(csv_next(&reader, &line) == CSV_ROW);
        size_t place = 0;
        for (; fuzz_part(&row, DIVIDES_CELLS, &cell); place++)
            REQUIRE(place < reader.cell_count && text_equal(reader.cells[place], text_trim(cell)));
        REQUIRE(place == reader.cell_count);
    }
    REQUIRE(csv_next(&reader, &line) == CSV_END);
    csv_stop(&reader);
    memory_free(bytes);
}

/* ---- JSON (RFC 8259, section 7) ---- */

static char unescaped(struct text *json)
{
    static const char letters[] = "\"\\/bfnrt", means[] = "\"\\/\b\f\n\r\t";
    REQUIRE(json->size >= 2);
    char letter = json->data[1];
    size_t taken = letter == 'u' ? 6 : 2;
    unsigned number = 0;
    REQUIRE(json->size >= taken);
    const char *known = memchr(letters, letter, sizeof letters - 1);
    if (letter == 'u')
        REQUIRE(sscanf(json->data + 2, "%4x", &number) == 1 && number < 0x20);
    else
        REQUIRE(known != NULL);
    *json = (struct text){json->data + taken, json->size - taken};
    return letter == 'u' ? (char)number : means[known - letters];
}

/* Takes a string off the JSON text; it must be `expected`. */
static void require_string(struct text *json, struct text expected)
{
    REQUIRE(json->size >= 2 && *json->data == '"');
    *json = (struct text){json->data + 1, json->size - 1};
    for (size_t i = 0; i < expected.size; i++) {
        REQUIRE(json->size > 0 && (unsigned char)*json->data >= ' ' && *json->data != '"');
        char c = *json->data;
        if (c == '\\')
            c = unescaped(json);
        else
            *json = (struct text){json->data + 1, json->size - 1};
        REQUIRE(c == expected.data[i]);
    }
    REQUIRE(json->size >= 1 && *json->data == '"');
    *json = (struct text){json->data + 1, json->size - 1};
}

static void require_literal(struct text *json, const char *literal)
{
    REQUIRE(text_starts(*json, literal));
    *json = (struct text){json->data + strlen(literal), json->size - strlen(literal)};
}

static void require_json(struct text input)
{
    struct text rest = input, cell;
    AUTO(output) output = output_memory();
    AUTO(json) json = json_new(output);
    json_list(json, NULL, true);
    while (fuzz_part(&rest, DIVIDES_CELLS, &cell))
        json_text(json, NULL, cell);
    json_end(json);
    struct text written = output_taken(output);
    bool first = true;
    require_literal(&written, "[");
    for (rest = input; fuzz_part(&rest, DIVIDES_CELLS, &cell); first = false) {
        require_literal(&written, first ? "" : ", ");
        require_string(&written, cell);
    }
    REQUIRE(text_is(written, "]\n"));
}

/* ---- HTML and SVG ---- */

/* Text as markup: what it says when the references are read, and nothing that markup means something by. */
static void require_markup(struct text input)
{
    static const struct {
        const char *reference;
        char means;
    } known[] = {{"&amp;", '&'}, {"&lt;", '<'}, {"&gt;", '>'}, {"&quot;", '"'}, {"&#39;", '\''}};
    AUTO(output) output = output_memory();
    markup_text(output, input);
    struct text written = output_taken(output);
    REQUIRE(utf8_valid_size(written) == written.size);
    for (size_t i = 0; i < written.size; i++) {
        unsigned char c = (unsigned char)written.data[i];
        bool good = memchr("<>\"'", c, 4) == NULL && (c >= ' ' || memchr("\t\n\r", c, 3) != NULL) && c != 0x7F;
        bool reference = c != '&';
        for (size_t k = 0; k < sizeof known / sizeof *known; k++)
            reference = reference || text_starts((struct text){written.data + i, written.size - i}, known[k].reference);
        REQUIRE(good && reference);
    }
}

/* Keeps the tags of a page: names, and names of attributes; texts and values are left out. */
static void tags(struct text page, struct output *out)
{
    bool in_tag = false, in_value = false;
    for (size_t i = 0; i < page.size; i++) {
        char c = page.data[i];
        if (in_tag && c == '"')
            in_value = !in_value;
        else if (!in_value && (c == '<' || c == '>'))
            in_tag = c == '<';
        if (in_tag && !in_value)
            output_bytes(out, &c, 1);
    }
    REQUIRE(!in_tag && !in_value);
}

static void write_page(struct text said, struct output *out)
{
    static const struct table_column columns[] = {{.title = "A", .is_head = true}, {.title = "B", .is_number = true}};
    AUTO(document) document = document_new(said);
    document_section(document, TEXT("next"), SECTION_PLAIN);
    document_heading(document, said);
    document_say(document, ROLE_LEAD, said);
    document_table(document, said, columns, 2);
    document_row(document);
    document_cell(document, said);
    document_cell(document, said);
    document_close(document);
    document_close(document);
    document_sign(document, SIGN_WIDE, said);
    struct drawing *drawing = drawing_new(document->arena, 100, 50, said, said);
    drawing_text(drawing, (struct point){1, 2}, 8, ANCHOR_START, INK_INK, said);
    document_figure(document, drawing);
    document_close(document);
    html_write(document, out);
    svg_file(drawing, out);
}

static void require_pages(struct text input)
{
    AUTO(output) harmless = output_memory();
    AUTO(output) hostile = output_memory();
    AUTO(output) harmless_tags = output_memory();
    AUTO(output) hostile_tags = output_memory();
    write_page(TEXT("word"), harmless);
    write_page(input, hostile);
    tags(output_taken(harmless), harmless_tags);
    tags(output_taken(hostile), hostile_tags);
    REQUIRE(text_equal(output_taken(harmless_tags), output_taken(hostile_tags)));
}

/* ---- terminal ---- */

static void require_shown(struct text input)
{
    AUTO(arena) arena = arena_new();
    struct text shown = utf8_shown(arena, input);
    for (size_t at = 0, size = 1; at < shown.size; at += size) {
        uint32_t character;
        REQUIRE(utf8_first((struct text){shown.data + at, shown.size - at}, &character, &size));
        REQUIRE(utf8_is_printable(character));
    }
    struct text cut = utf8_cut(input, 64);
    REQUIRE(cut.size <= input.size && utf8_count(cut) <= 64);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *bytes = fuzz_copy(fuzz_text(data, size));
    struct text input = {bytes, size};
    require_csv(input);
    require_markup(input);
    require_shown(input);
    if (utf8_valid_size(input) == size)
        require_json(input);
    if (text_trim(input).size > 0)
        require_pages(input);
    memory_free(bytes);
    return 0;
}
