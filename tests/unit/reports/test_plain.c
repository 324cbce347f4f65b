/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <string.h>

#include "audits.h"
#include "reports/findings_page.h"
#include "reports/plain.h"

static const char *written(const struct document *document, size_t width, struct output *output)
{
    plain_write(document, width, output);
    output_bytes(output, "", 1);
    return output_taken(output).data;
}

Test(plain, headings_paragraphs_and_lists)
{
    AUTO(document) document = document_new(TEXT("Title"));
    document_heading(document, TEXT("Title"));
    document_section(document, TEXT("a"), SECTION_PLAIN);
    document_heading(document, TEXT("Part"));
    document_say(document, ROLE_PLAIN, TEXT("one two three four five six"));
    document_say(document, ROLE_CAUTION, TEXT("Mind this."));
    document_open(document, NODE_LIST, 0);
    document_open(document, NODE_ITEM, 0);
    document_open(document, NODE_PARAGRAPH, ROLE_PLAIN);
    document_tick(document);
    document_mark(document, SEVERITY_BREACH);
    document_file_link(document, TEXT(", see"), TEXT("a/b.html"));
    document_close(document);
    document_say(document, ROLE_SMALL, TEXT("more"));
    document_close(document);
    document_close(document);
    document_sign(document, SIGN_SHORT, TEXT("Done by"));
    document_close(document);
    AUTO(output) output = output_memory();
    cr_expect_str_eq(written(document, 20, output), "Title\n=====\n\nPart\n----\none two three four\nfive six\n\n"
                                                    "! Mind this.\n\n 1. [ ] breach, see\n    (a/b.html)\n    more\n"
                                                    "Done by:\n______________________________\n");
}

static const struct table_column columns[] = {
    {.title = "Site", .is_head = true}, {.title = "Tests", .is_number = true}, {.title = "What"}};

static void add_row(struct document *document, struct text site, struct text tests, struct text what)
{
    document_row(document);
    document_cell(document, site);
    document_cell(document, tests);
    document_cell(document, what);
    document_close(document);
}

Test(plain, tables_are_aligned_and_wrapped_and_where_they_do_not_fit_a_row_is_a_block)
{
    AUTO(document) document = document_new(TEXT("T"));
    document_table(document, TEXT("Caption"), columns, 3);
    add_row(document, TEXT("quarry"), TEXT("7"), TEXT("none of it was good"));
    add_row(document, TEXT("höhe"), TEXT("1,204"), TEXT("Donaudampfschifffahrtsgesellschaft"));
    document_close(document);
    AUTO(output) wide = output_memory();
    cr_expect_str_eq(written(document, 42, wide), "Caption\n"
                                                  "Site    Tests  What\n"
                                                  "------  -----  ---------------------------\n"
                                                  "quarry      7  none of it was good\n"
                                                  "höhe    1,204  Donaudampfschifffahrtsgesel\n"
                                                  "               lschaft\n");
    AUTO(output) narrow = output_memory();
    cr_expect_str_eq(written(document, 24, narrow), "Caption\n"
                                                    "Site: quarry\n  Tests: 7\n  What: none of it was\n    good\n"
                                                    "Site: höhe\n  Tests: 1,204\n  What:\n"
                                                    "    Donaudampfschifffahr\n    tsgesellschaft\n");
}

Test(plain, what_a_record_says_cannot_steer_the_terminal)
{
    AUTO(document) document = document_new(TEXT("T"));
    document_say(document, ROLE_PLAIN, TEXT("a\x1b[2Jb\r\nc\xe2\x80\xae"));
    document_table(document, TEXT("x\x07"), columns, 1);
    document_row(document);
    document_cell(document, TEXT("\x1b]0;t\x07"));
    document_close(document);
    document_close(document);
    AUTO(output) output = output_memory();
    cr_expect_str_eq(written(document, 80, output), "a?[2Jb  c?\n\nx?\nSite\n------\n?]0;t?\n");
}

Test(plain, no_line_of_a_report_is_wider_than_asked)
{
    AUTO(audit) audit = audit_large(3, 20, 2);
    AUTO(view) view = view_new(audit, NULL);
    AUTO(document) page = findings_page(view);
    for (size_t width = 40; width <= 120; width += 20) {
        AUTO(output) output = output_memory();
        const char *line = written(page, width, output);
        for (const char *end; (end = strchr(line, '\n')) != NULL; line = end + 1) {
            size_t letters = 0; /* bytes that begin a character */
            for (const char *at = line; at < end; at++)
                letters += ((unsigned char)*at & 0xc0) != 0x80;
            const char *word = line + strspn(line, " ");
            bool is_one_word = word < end && memchr(word, ' ', (size_t)(end - word)) == NULL;
            cr_expect(letters <= width || is_one_word, "%.*s", (int)(end - line), line);
            cr_expect(end == line || end[-1] != ' ', "a line ends with a blank: %.*s", (int)(end - line), line);
        }
    }
}
