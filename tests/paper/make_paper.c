/* SPDX-License-Identifier: GPL-3.0-or-later */
/* make-paper FOLDER: writes findings.pdf and findings.xlsx of audits built by hand, and hostile.pdf, a document whose
 * texts nobody would wish for. */
#include <stdio.h>
#include <string.h>

#include "../unit/reports/audits.h"
#include "reports/findings_page.h"
#include "reports/findings_xlsx.h"
#include "reports/pdf.h"
#include "reports/workbook.h"

enum { FEW_ROWS = 20 };

static bool write_file(const char *folder, const char *name, const struct view *view, const struct document *document,
                       size_t rows, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct output *output;
    if (!output_file(&output, text_print(arena, "%s/%s", folder, name).data, fault))
        return false;
    bool written = document != NULL ? pdf_write(document, 9800, output, fault) /* 2026-10-31 */
                                    : findings_xlsx(view, rows, output, fault);
    if (written)
        return output_close(output, fault);
    output_free(output);
    return false;
}

static bool write_audit(const char *folder, const char *name, const struct audit *audit, size_t rows,
                        struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    AUTO(view) view = view_new(audit, NULL);
    AUTO(document) page = findings_page(view);
    return write_file(folder, text_print(arena, "%s.pdf", name).data, view, page, 0, fault) &&
           write_file(folder, text_print(arena, "%s.xlsx", name).data, view, NULL, rows, fault);
}

/* Texts that a spreadsheet could take for something else, in a finding of the small audit. */
static void spoil(struct audit *audit)
{
    audit->findings[0].says = TEXT("=1+1");
    audit->findings[1].says = TEXT("_x0041_ \x01 \xef\xbf\xbe <&> \xff");
    audit->findings[2].says = TEXT("007512");
}

static struct document *hostile(void)
{
    static const struct table_column columns[] = {{.title = "Test", .is_head = true}, {.title = "Note"}};
    static char tall[9000], endless[900];
    for (size_t i = 0; i < sizeof tall; i++)
        tall[i] = i % 7 == 6 ? ' ' : 'a';
    memset(endless, 'w', sizeof endless);
    struct document *document = document_new(TEXT("(Title) \\ \x01 \xc3\xa9\xf0\x9f\x98\x80"));
    document_heading(document, TEXT("(Title) \\ end)"));
    document_section(document, TEXT("a'b\\c]"), SECTION_PLAIN);
    document_heading(document, TEXT("Link, 'quotes' and \xff"));
    document_open(document, NODE_PARAGRAPH, ROLE_PLAIN);
    document_link(document, TEXT("there"), TEXT("a'b\\c]"));
    document_link(document, TEXT(" nowhere"), TEXT("z' page=9"));
    document_tick(document);
    document_mark(document, SEVERITY_PRACTICE);
    document_text(document, TEXT(" efficient first waffle \xd0\x96\xce\xb1 \xd7\xa9\xe2\x80\xae\x1b[2J"));
    document_close(document);
    document_table(document, TEXT("Tall rows"), columns, 2);
    for (int i = 0; i < 3; i++) {
        document_row(document);
        document_cell(document, i == 1 ? (struct text){endless, sizeof endless} : TEXT("T-1"));
        document_cell(document, i == 2 ? (struct text){tall, sizeof tall} : TEXT(""));
        document_close(document);
    }
    document_close(document);
    struct drawing *circle = drawing_new(document->arena, 600, 90, TEXT("A circle (round)"), TEXT("It stands alone."));
    drawing_disc(circle, (struct point){300, 45}, 40, (struct pen){.stroke = INK_INK, .width = 1});
    document_figure(document, circle);
    document_break(document);
    document_sign(document, SIGN_SHORT, TEXT("Director, date"));
    document_close(document);
    return document;
}

int main(int count, char **words)
{
    struct fault fault = {0};
    AUTO(audit) small = audit_small();
    AUTO(audit) spoilt = audit_small();
    AUTO(audit) sites = audit_large(12, 64, 40);
    AUTO(document) bad = hostile();
    if (count != 2)
        return 2;
    spoil(spoilt);
    if (write_audit(words[1], "small", small, WORKBOOK_ROWS, &fault) &&
        write_audit(words[1], "spoilt", spoilt, WORKBOOK_ROWS, &fault) &&
        write_audit(words[1], "sites", sites, FEW_ROWS, &fault) &&
        write_file(words[1], "hostile.pdf", NULL, bad, 0, &fault))
        return 0;
    fprintf(stderr, "%s\n", fault.text);
    return 2;
}
