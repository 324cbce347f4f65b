/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A picture as data: lines, boxes, shapes and short texts on a sheet of points, with a title and a description for
 * those who cannot see it. Pictures are drawn once and written by one writer a medium (svg.h, paint.h), so that screen
 * and paper cannot drift apart.
 *
 * x runs to the right, y down, from the upper left corner; 1 unit is 1 point of print. Everything belongs to the arena;
 * texts are borrowed and must live as long as it. A shape with a coordinate that is no number
 * is left out. */
#ifndef ASSIZE_REPORTS_PICTURES_DRAWING_H
#define ASSIZE_REPORTS_PICTURES_DRAWING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/memory.h"
#include "base/text.h"

/* Names for what ink means, not colours: writers map them to the page's own (light, dark, print). All are told apart in
 * grey. */
enum ink {
    INK_NONE,
    INK_INK,    /* text and what counts */
    INK_QUIET,  /* axes' words, what stands behind */
    INK_LINE,   /* rules and frames */
    INK_TINT,   /* a filled ground a little darker than paper */
    INK_PAPER,  /* the ground: for halos and hollow marks */
    INK_ACCENT, /* the one accent: the line or mark that the picture is about */
};

enum dash { DASH_NONE, DASH_LONG, DASH_SHORT };
enum anchor { ANCHOR_START, ANCHOR_MIDDLE, ANCHOR_END };

struct point {
    double x, y;
};

struct pen {
    enum ink stroke, fill;
    double width; /* of the stroke */
    enum dash dash;
};

enum shape_kind {
    SHAPE_LINE, /* points: an open line of two or more */
    SHAPE_AREA, /* points: a closed polygon */
    SHAPE_BOX,  /* points[0] its corner, points[1] its width and height */
    SHAPE_DISC, /* points[0] its middle, points[1].x its radius */
    SHAPE_TEXT, /* points[0] the foot of its first, middle or last letter */
};

struct shape {
    enum shape_kind kind;
    struct pen pen; /* of a text: fill */
    struct point *points;
    size_t point_count;
    struct text text;
    double size; /* of letters, in points */
    enum anchor anchor;
    bool bold;
    struct shape *next;
};

struct drawing {
    struct arena *arena;
    double width, height;
    struct text title, description; /* the description says what a reader would see: numbers, and what stands out */
    struct shape *first, *last;
};

struct drawing *drawing_new(struct arena *arena, double width, double height, struct text title,
                            struct text description);
void drawing_line(struct drawing *drawing, struct point from, struct point to, struct pen pen);
void drawing_lines(struct drawing *drawing, const struct point *points, size_t count, struct pen pen); /* copied */
void drawing_area(struct drawing *drawing, const struct point *points, size_t count, struct pen pen);  /* copied */
void drawing_box(struct drawing *drawing, struct point corner, double width, double height, struct pen pen);
void drawing_disc(struct drawing *drawing, struct point middle, double radius, struct pen pen);
void drawing_text(struct drawing *drawing, struct point foot, double size, enum anchor anchor, enum ink ink,
                  struct text text);
void drawing_strong(struct drawing *drawing, struct point foot, double size, enum anchor anchor, enum ink ink,
                    struct text text);

/* A sheet for a file of its own: the drawings below each other in margins, each under its title, and a line of words at
 * the foot. A lone drawing's title and description are the sheet's; else `title` and what all of them say. */
struct drawing *drawing_sheet(struct arena *arena, const struct drawing *const *drawings, size_t count,
                              struct text title, struct text foot);

/* How wide a text will be, near enough to keep texts apart: the same estimate for all writers. */
double drawing_text_width(struct text text, double size);

#endif
