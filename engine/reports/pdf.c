/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pdf.h"

#include <cairo-pdf.h>

#include "base/version.h"
#include "reports/paper/draw.h"
#include "reports/paper/finish.h"

static const double A4_WIDTH = 595.28, A4_HEIGHT = 841.89; /* ISO 216: 210 by 297 mm, in points */

static cairo_status_t take(void *closure, const unsigned char *bytes, unsigned size)
{
    output_bytes(closure, bytes, size);
    return CAIRO_STATUS_SUCCESS;
}

static void describe(cairo_surface_t *surface, const struct document *document, struct type *type, day_number made_on)
{
    AUTO(arena) arena = arena_new();
    char day[DAY_TEXT_SIZE];
    day_print(made_on, day);
    struct text date = text_print(arena, "%sT00:00:00Z", day);
    type_set(type, &style_small, document->title, NULL, PAPER_WIDTH); /* without what no letter shows */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, text_string(arena, output_taken(type->text)));
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "assize " ASSIZE_VERSION);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, text_string(arena, date));
}

static bool draw(const struct document *document, const struct blocks *blocks, const struct pages *pages,
                 day_number made_on, struct output *output, struct fault *fault)
{
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(take, output, A4_WIDTH, A4_HEIGHT);
    cairo_t *cairo = cairo_create(surface);
    describe(surface, document, blocks->type, made_on);
    draw_pages(document, blocks, pages, cairo);
    cairo_status_t status = cairo_status(cairo);
    cairo_destroy(cairo);
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return status == CAIRO_STATUS_SUCCESS ||
           fault_set(fault, FAULT_FILE, "the PDF cannot be drawn: %s", cairo_status_to_string(status));
}

bool pdf_write(const struct document *document, day_number made_on, struct output *output, struct fault *fault)
{
    AUTO(type) type = NULL;
    if (!type_new(&type, fault))
        return false;
    AUTO(blocks) blocks = blocks_new(document, type);
    AUTO(output) drawn = output_memory();
    struct pages pages = {0};
    pages_fill(&pages, blocks->extents, blocks->count, PAPER_HEIGHT);
    bool done = draw(document, blocks, &pages, made_on, drawn, fault) &&
                finish_write(output_taken(drawn), blocks, output, fault);
    pages_clear(&pages);
    return done;
}
