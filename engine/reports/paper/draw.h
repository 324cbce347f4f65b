/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Draws the blocks of a document on the pages that they were given, with page numbers, links, an outline, and the tags
 * that tell readers by ear what each piece is. The tags of cairo lack three things, which finish.h mends. */
#ifndef ASSIZE_REPORTS_PAPER_DRAW_H
#define ASSIZE_REPORTS_PAPER_DRAW_H

#include "reports/paper/blocks.h"

/* The name under which a table or list goes on on another page: it is to be joined with what comes before it. */
#define TAG_CARRIED_ON "Div"

/* `cairo` belongs to a PDF surface of A4. */
void draw_pages(const struct document *document, const struct blocks *blocks, const struct pages *pages,
                cairo_t *cairo);

#endif
