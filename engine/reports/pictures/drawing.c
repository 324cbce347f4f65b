/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/drawing.h"

#include <math.h>
#include <string.h>

#include "base/utf8.h"

struct drawing *drawing_new(struct arena *arena, double width, double height, struct text title,
                            struct text description)
{
    struct drawing *drawing = arena_take(arena, sizeof *drawing);
    *drawing =
        (struct drawing){.arena = arena, .width = width, .height = height, .title = title, .description = description};
    return drawing;
}

static bool all_finite(const struct point *points, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!isfinite(points[i].x) || !isfinite(points[i].y))
            return false;
    return true;
}

/* Copies the points. NULL, and nothing is added, if there are too few or one of them is nowhere. */
static struct shape *add(struct drawing *drawing, enum shape_kind kind, const struct point *points, size_t count,
                         size_t least, struct pen pen)
{
    if (count < least || !all_finite(points, count))
        return NULL;
    struct shape *shape = arena_take(drawing->arena, sizeof *shape);
    *shape = (struct shape){.kind = kind, .pen = pen, .point_count = count};
    shape->points = arena_take(drawing->arena, count * sizeof *points);
    memcpy(shape->points, points, count * sizeof *points);
    if (drawing->last != NULL)
        drawing->last->next = shape;
    else
        drawing->first = shape;
    drawing->last = shape;
    return shape;
}

void drawing_line(struct drawing *drawing, struct point from, struct point to, struct pen pen)
{
    add(drawing, SHAPE_LINE, (const struct point[]){from, to}, 2, 2, pen);
}

void drawing_lines(struct drawing *drawing, const struct point *points, size_t count, struct pen pen)
{
    add(drawing, SHAPE_LINE, points, count, 2, pen);
}

void drawing_area(struct drawing *drawing, const struct point *points, size_t count, struct pen pen)
{
    add(drawing, SHAPE_AREA, points, count, 3, pen);
}

void drawing_box(struct drawing *drawing, struct point corner, double width, double height, struct pen pen)
{
    add(drawing, SHAPE_BOX, (const struct point[]){corner, {width, height}}, 2, 2, pen);
}

void drawing_disc(struct drawing *drawing, struct point middle, double radius, struct pen pen)
{
    add(drawing, SHAPE_DISC, (const struct point[]){middle, {radius, 0}}, 2, 2, pen);
}

static struct shape *add_text(struct drawing *drawing, struct point foot, double size, enum anchor anchor, enum ink ink,
                              struct text text)
{
    struct shape *shape = text.size > 0 ? add(drawing, SHAPE_TEXT, &foot, 1, 1, (struct pen){.fill = ink}) : NULL;
    if (shape == NULL)
        return NULL;
    shape->text = utf8_mended(drawing->arena, text); /* one noncharacter, and a whole PDF fails */
    shape->size = size;
    shape->anchor = anchor;
    return shape;
}

void drawing_text(struct drawing *drawing, struct point foot, double size, enum anchor anchor, enum ink ink,
                  struct text text)
{
    add_text(drawing, foot, size, anchor, ink, text);
}

void drawing_strong(struct drawing *drawing, struct point foot, double size, enum anchor anchor, enum ink ink,
                    struct text text)
{
    struct shape *shape = add_text(drawing, foot, size, anchor, ink, text);
    if (shape != NULL)
        shape->bold = true;
}

/* ---- sheets ---- */

static void copy_onto(struct drawing *sheet, const struct drawing *drawing, double right, double down)
{
    for (const struct shape *shape = drawing->first; shape != NULL; shape = shape->next) {
        struct shape *copy = add(sheet, shape->kind, shape->points, shape->point_count, 1, shape->pen);
        size_t places = shape->kind == SHAPE_BOX || shape->kind == SHAPE_DISC ? 1 : shape->point_count;
        for (size_t i = 0; i < places; i++) {
            copy->points[i].x += right;
            copy->points[i].y += down;
        }
        copy->text = shape->text;
        copy->size = shape->size;
        copy->anchor = shape->anchor;
        copy->bold = shape->bold;
    }
}

struct drawing *drawing_sheet(struct arena *arena, const struct drawing *const *drawings, size_t count,
                              struct text title, struct text foot)
{
    enum { MARGIN = 18, HEAD = 26 };
    static const struct pen rule = {.stroke = INK_INK, .width = 1.5};
    struct drawing *sheet = drawing_new(arena, 0, MARGIN, title, TEXT(""));
    for (size_t i = 0; i < count; i++) {
        const struct drawing *drawing = drawings[i];
        sheet->width = fmax(sheet->width, drawing->width + 2 * MARGIN);
        drawing_line(sheet, (struct point){MARGIN, sheet->height},
                     (struct point){MARGIN + drawing->width, sheet->height}, rule);
        drawing_strong(sheet, (struct point){MARGIN, sheet->height + 15}, 11, ANCHOR_START, INK_INK, drawing->title);
        copy_onto(sheet, drawing, MARGIN, sheet->height + HEAD);
        sheet->height += HEAD + drawing->height + MARGIN;
        sheet->description = count == 1 ? drawing->description
                                        : text_print(arena, "%.*s%.*s: %.*s ", TEXT_FORMAT(sheet->description),
                                                     TEXT_FORMAT(drawing->title), TEXT_FORMAT(drawing->description));
    }
    if (count == 1)
        sheet->title = drawings[0]->title;
    drawing_text(sheet, (struct point){MARGIN, sheet->height - 4}, 7.5, ANCHOR_START, INK_QUIET, foot);
    sheet->height += MARGIN / 2.0;
    return sheet;
}

/* In parts of the letters' size; of the wider of the faces that pages are set in. */
static double letter_width(uint32_t letter)
{
    if (letter >= 0x1100)
        return 1;
    if (letter >= 0x80)
        return .6;
    if (strchr(" .,:;'!|()[]iljtfI", (int)letter) != NULL)
        return .33;
    if (strchr("mwMW@%", (int)letter) != NULL)
        return .9;
    return letter >= 'A' && letter <= 'Z' ? .72 : .54;
}

double drawing_text_width(struct text text, double size)
{
    double width = 0;
    while (text.size > 0) {
        uint32_t letter = '?';
        size_t bytes = 1;
        utf8_first(text, &letter, &bytes);
        width += letter_width(letter);
        text = (struct text){text.data + bytes, text.size - bytes};
    }
    return width * size;
}
