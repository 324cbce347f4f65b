/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/svg.h"

#include <math.h>
#include <stdlib.h>

#include "reports/markup.h"

static const char *ink_value(enum ink ink)
{
    static const char *const values[] = {"none",        "var(--ink)",   "var(--quiet)", "var(--line)",
                                         "var(--tint)", "var(--paper)", "var(--accent)"};
    return values[ink];
}

/* To a hundredth, without needless digits; no locale has a say in it. */
static void put_number(struct output *output, double value)
{
    long hundredths = lround(fmax(fmin(value, 1e6), -1e6) * 100), whole = labs(hundredths) / 100,
         part = labs(hundredths) % 100;
    output_print(output, "%s%ld", hundredths < 0 ? "-" : "", whole);
    if (part % 10 != 0)
        output_print(output, ".%02ld", part);
    else if (part != 0)
        output_print(output, ".%ld", part / 10);
}

static void put_attribute(struct output *output, const char *name, double value)
{
    output_print(output, " %s=\"", name);
    put_number(output, value);
    markup_put(output, "\"");
}

static void write_points(const struct shape *shape, struct output *output)
{
    markup_put(output, shape->kind == SHAPE_AREA ? "<polygon points=\"" : "<polyline points=\"");
    for (size_t i = 0; i < shape->point_count; i++) {
        markup_put(output, i == 0 ? "" : " ");
        put_number(output, shape->points[i].x);
        markup_put(output, ",");
        put_number(output, shape->points[i].y);
    }
    markup_put(output, "\"/>\n");
}

static void write_text(const struct shape *shape, struct output *output)
{
    static const char *const anchors[] = {"", " text-anchor=\"middle\"", " text-anchor=\"end\""};
    markup_put(output, "<text");
    put_attribute(output, "x", shape->points->x);
    put_attribute(output, "y", shape->points->y);
    put_attribute(output, "font-size", shape->size);
    markup_put(output, anchors[shape->anchor]);
    markup_put(output, shape->bold ? " font-weight=\"600\">" : ">");
    markup_text(output, shape->text);
    markup_put(output, "</text>\n");
}

static void write_shape(const struct shape *shape, struct output *output)
{
    const struct point *points = shape->points;
    switch (shape->kind) {
    case SHAPE_LINE:
    case SHAPE_AREA:
        write_points(shape, output);
        break;
    case SHAPE_BOX:
        markup_put(output, "<rect");
        put_attribute(output, "x", points[0].x);
        put_attribute(output, "y", points[0].y);
        put_attribute(output, "width", points[1].x);
        put_attribute(output, "height", points[1].y);
        markup_put(output, "/>\n");
        break;
    case SHAPE_DISC:
        markup_put(output, "<circle");
        put_attribute(output, "cx", points[0].x);
        put_attribute(output, "cy", points[0].y);
        put_attribute(output, "r", points[1].x);
        markup_put(output, "/>\n");
        break;
    case SHAPE_TEXT:
        write_text(shape, output);
        break;
    }
}

static bool same_pen(struct pen a, struct pen b)
{
    return a.stroke == b.stroke && a.fill == b.fill && a.width == b.width && a.dash == b.dash;
}

static void write_pen(struct pen pen, struct output *output)
{
    static const char *const dashes[] = {"", " stroke-dasharray=\"5 3\"", " stroke-dasharray=\"1.5 2\""};
    output_print(output, "<g fill=\"%s\"", ink_value(pen.fill));
    if (pen.stroke != INK_NONE) {
        output_print(output, " stroke=\"%s\"", ink_value(pen.stroke));
        put_attribute(output, "stroke-width", pen.width);
        markup_put(output, dashes[pen.dash]);
    }
    markup_put(output, ">\n");
}

/* Neighbours drawn with the same pen share a group. */
static void write_shapes(const struct drawing *drawing, struct output *output)
{
    const struct shape *before = NULL;
    for (const struct shape *shape = drawing->first; shape != NULL; before = shape, shape = shape->next) {
        if (before == NULL || !same_pen(before->pen, shape->pen)) {
            markup_put(output, before == NULL ? "" : "</g>\n");
            write_pen(shape->pen, output);
        }
        write_shape(shape, output);
    }
    markup_put(output, before == NULL ? "" : "</g>\n");
}

/* What a picture is, for those who hear it; `number` makes the ids its own. */
static void write_names(const struct drawing *drawing, unsigned number, struct output *output)
{
    output_print(output, "<title id=\"picture%u-title\">", number);
    markup_text(output, drawing->title);
    output_print(output, "</title>\n<desc id=\"picture%u-says\">", number);
    markup_text(output, drawing->description);
    markup_put(output, "</desc>\n");
}

static void write_start(const struct drawing *drawing, unsigned number, struct output *output)
{
    output_print(output, " role=\"img\" aria-labelledby=\"picture%u-title picture%u-says\" viewBox=\"0 0 ", number,
                 number);
    put_number(output, drawing->width);
    markup_put(output, " ");
    put_number(output, drawing->height);
    markup_put(output, "\"");
}

/* As wide as the page lets it, but letters no larger than the page's: ten units are a letter's height. */
void svg_inline(const struct drawing *drawing, unsigned number, struct output *output)
{
    markup_put(output, "<svg");
    write_start(drawing, number, output);
    markup_put(output, " style=\"max-width:");
    put_number(output, drawing->width / 10);
    markup_put(output, "rem\">\n");
    write_names(drawing, number, output);
    write_shapes(drawing, output);
    markup_put(output, "</svg>\n");
}

/* The colours of the page (html_style.c). */
static const char file_style[] =
    "<style>\n"
    "svg { --ink: #1e1d1b; --quiet: #5d5952; --line: #d8d3c7; --tint: #f2efe7; --paper: #fcfbf8; --accent: #14595f;\n"
    "  font-family: Charter, 'Bitstream Charter', 'Sitka Text', Cambria, 'Liberation Serif', serif }\n"
    "@media screen and (prefers-color-scheme: dark) { svg { --ink: #e8e4db; --quiet: #aaa59b; --line: #3b3c3f;\n"
    "  --tint: #212326; --paper: #161719; --accent: #82c7c5 } }\n"
    "</style>\n";

void svg_file(const struct drawing *drawing, struct output *output)
{
    markup_put(output, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\"");
    write_start(drawing, 1, output);
    markup_put(output, " width=\"");
    put_number(output, drawing->width);
    markup_put(output, "pt\" height=\"");
    put_number(output, drawing->height);
    markup_put(output, "pt\">\n");
    write_names(drawing, 1, output);
    markup_put(output, file_style);
    markup_put(output, "<rect width=\"100%\" height=\"100%\" fill=\"var(--paper)\"/>\n");
    write_shapes(drawing, output);
    markup_put(output, "</svg>\n");
}
