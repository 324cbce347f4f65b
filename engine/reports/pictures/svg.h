/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes a drawing as SVG: a file of its own, or inline in a page, where it takes the page's colours. */
#ifndef ASSIZE_REPORTS_PICTURES_SVG_H
#define ASSIZE_REPORTS_PICTURES_SVG_H

#include "base/output.h"
#include "reports/pictures/drawing.h"

/* `number` makes the ids of title and description unique in the page. */
void svg_inline(const struct drawing *drawing, unsigned number, struct output *output);
void svg_file(const struct drawing *drawing, struct output *output);

#endif
