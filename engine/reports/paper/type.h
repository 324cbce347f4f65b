/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Letters of paper: words of a document set in lines of one font, which every machine must have. Lengths are points.
 *
 * Characters that the font lacks, and those that do not show (controls, marks that turn the writing direction), appear
 * as a white question mark on black and are counted: nothing is left out silently, and no other font is drawn in, so
 * that the same document looks the same everywhere. */
#ifndef ASSIZE_REPORTS_PAPER_TYPE_H
#define ASSIZE_REPORTS_PAPER_TYPE_H

#include <hb.h>
#include <pango/pangocairo.h>

#include "base/fault.h"
#include "reports/document.h"
#include "reports/pictures/paint.h"

#define SHAPE_PLACE "\xef\xbf\xbc" /* stands in the text where a shape is drawn (U+FFFC) */

struct style {
    double size, line; /* of its letters; from one line's foot to the next */
    bool strong;
    enum ink ink;
};

/* A stretch of the words that is drawn in a way of its own. */
struct span {
    size_t end; /* one past its last byte in type.text */
    const struct node *node;
    bool is_unknown; /* characters without a letter */
};

struct face {
    hb_font_t *letters; /* at FACE_SIZE; borrowed from `font` */
    PangoFont *font;
    double ascii[128]; /* advance widths at 1 point */
};

struct type {
    PangoFontMap *map;
    PangoContext *context;
    struct face faces[2]; /* plain, strong */

    /* What was set last. */
    const struct style *style;
    PangoLayout *layout;
    struct output *text;
    struct span *spans;
    size_t span_count, span_capacity;
    uint64_t unknown; /* characters without a letter in what was set last */
};

bool type_new(struct type **out, struct fault *fault); /* a fault names the package of a missing font */
void type_free(struct type *type);
OWNER(type);

/* Sets `text`, then the words that are children of `node` (which may be NULL), in lines no wider than `width`. */
void type_set(struct type *type, const struct style *style, struct text text, const struct node *node, double width);
size_t type_lines(const struct type *type);

/* How wide a text would be on one line, and its longest word, near enough to choose the widths of columns (letters that
 * move together are not reckoned with). */
struct type_width {
    double line, word;
};
struct type_width type_width(const struct type *type, const struct style *style, struct text text);

/* Width of the shape of a mark or tick with the blank behind it, for letters of a size. */
double type_shape_width(enum node_kind kind, double size);

#endif
