/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a PDF says and whether it is whole is asked of other people's programs, in tests/paper. */
#include <criterion/criterion.h>
#include <string.h>

#include "audits.h"
#include "reports/findings_page.h"
#include "reports/paper/blocks.h"
#include "reports/pdf.h"

static void write_page(const struct audit *audit, day_number day, struct output *output)
{
    AUTO(view) view = view_new(audit, NULL);
    AUTO(document) page = findings_page(view);
    struct fault fault = {0};
    cr_expect(pdf_write(page, day, output, &fault), "%s", fault.text);
}

Test(pdf, the_same_document_and_day_give_the_same_bytes)
{
    AUTO(audit) audit = audit_small();
    AUTO(output) one = output_memory();
    AUTO(output) same = output_memory();
    AUTO(output) later = output_memory();
    write_page(audit, audit->as_of, one);
    write_page(audit, audit->as_of, same);
    write_page(audit, audit->as_of + 1, later);
    cr_expect(text_starts(output_taken(one), "%PDF-1."));
    cr_expect(text_equal(output_taken(one), output_taken(same)));
    cr_expect_not(text_equal(output_taken(one), output_taken(later)));
}

static struct type *new_type(void)
{
    struct type *type = NULL;
    struct fault fault = {0};
    cr_assert(type_new(&type, &fault), "%s", fault.text);
    return type;
}

Test(pdf, characters_without_a_letter_are_counted_and_told)
{
    static const struct {
        struct text text;
        uint64_t unknown;
    } rows[] = {
        {TEXT("plain, 5.40 mmol/L"), 0},
        {TEXT("\xc3\xa9 \xce\xb1 \xd0\x96 \xe2\x89\xa5 \xe2\x80\x91 \xc2\xa0"),
         0},                                       /* é α Ж ≥, no-break hyphen, blank */
        {TEXT("\xe5\xa5\xbd\xf0\x9f\x98\x80"), 2}, /* Han, emoji */
        {TEXT("a\x01z\x7f"), 2},
        {TEXT("\xe2\x80\xaegnirts"), 1}, /* turns the writing direction */
        {TEXT("\xff\xc0"), 2},           /* no UTF-8 */
        {TEXT("a\nb\tc\r"), 0},          /* blanks */
        {TEXT("\xef\xbf\xbc"), 1},       /* the place of a shape, in a record */
    };
    AUTO(type) type = new_type();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        AUTO(document) document = document_new(TEXT("T"));
        document_say(document, ROLE_PLAIN, rows[i].text);
        AUTO(blocks) blocks = blocks_new(document, type);
        cr_expect_eq(blocks->unknown, rows[i].unknown, "row %zu: %zu", i, (size_t)blocks->unknown);
        cr_expect_eq(blocks->count, rows[i].unknown > 0 ? 2 : 1, "row %zu", i);
    }
}

static const struct table_column columns[] = {{.title = "Name", .is_head = true}, {.title = "N", .is_number = true}};

static size_t lines_of_first_row(struct type *type, struct text name)
{
    AUTO(document) document = document_new(TEXT("T"));
    document_table(document, TEXT("Caption"), columns, 2);
    document_row(document);
    document_cell(document, name);
    document_cell(document, TEXT("1,234,567"));
    document_close(document);
    document_close(document);
    AUTO(blocks) blocks = blocks_new(document, type);
    cr_assert_eq(blocks->count, 3); /* caption, titles, row */
    const struct table_place *place = blocks->blocks[2].table;
    cr_expect_leq(place->left[1] + place->width[1], PAPER_WIDTH + 0.01, "a table is no wider than the text");
    return blocks->extents[2].lines;
}

Test(pdf, cells_are_wrapped_and_endless_words_are_torn)
{
    AUTO(type) type = new_type();
    char words[600], endless[600];
    for (size_t i = 0; i < sizeof words; i++) {
        words[i] = i % 6 == 5 ? ' ' : 'n';
        endless[i] = 'n';
    }
    cr_expect_eq(lines_of_first_row(type, TEXT("short")), 1);
    size_t wrapped = lines_of_first_row(type, (struct text){words, sizeof words});
    size_t torn = lines_of_first_row(type, (struct text){endless, sizeof endless});
    cr_expect(wrapped >= 6 && wrapped <= 9, "%zu", wrapped);
    cr_expect(torn >= 6 && torn <= 9, "%zu", torn);
}

Test(pdf, a_section_is_a_target_and_its_heading_hangs_in_the_margin)
{
    AUTO(type) type = new_type();
    AUTO(document) document = document_new(TEXT("T"));
    document_heading(document, TEXT("Title"));
    document_section(document, TEXT("short"), SECTION_PLAIN);
    document_heading(document, TEXT("In short"));
    document_say(document, ROLE_PLAIN, TEXT("Words."));
    document_close(document);
    document_section(document, TEXT("empty"), SECTION_PLAIN);
    document_heading(document, TEXT("Nothing follows"));
    document_close(document);
    AUTO(blocks) blocks = blocks_new(document, type);
    cr_assert_eq(blocks->count, 3);
    cr_expect_null(blocks_target(blocks, TEXT("elsewhere")));
    cr_expect_eq(blocks_target(blocks, TEXT("short"))->block, 1);
    cr_expect_eq(blocks_target(blocks, TEXT("empty"))->block, 2);
    cr_expect_eq(blocks->blocks[1].hanging->kind, NODE_HEADING);
    cr_expect_eq(blocks->blocks[2].hanging->kind, NODE_HEADING, "a heading alone is not lost");
    cr_expect_gt(blocks->extents[2].hang, 0);
}
