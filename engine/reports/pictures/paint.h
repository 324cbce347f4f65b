/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Paints a drawing with cairo: on a page of a PDF, or as a PNG file. */
#ifndef ASSIZE_REPORTS_PICTURES_PAINT_H
#define ASSIZE_REPORTS_PICTURES_PAINT_H

#include <cairo.h>

#include "base/output.h"
#include "reports/pictures/drawing.h"

void paint_ink(enum ink ink, cairo_t *cairo); /* sets the source to the ink's colour in print */

/* The drawing's upper left corner at the context's origin; its state is left as it was. Print colours. */
void paint_drawing(const struct drawing *drawing, cairo_t *cairo);

/* A PNG of `scale` pixels a point. */
bool paint_png(const struct drawing *drawing, double scale, struct output *output, struct fault *fault);

#endif
