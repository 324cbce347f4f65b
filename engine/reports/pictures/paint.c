/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/paint.h"

#include <math.h>
#include <pango/pangocairo.h>

/* As the page prints (html_style.c). */
void paint_ink(enum ink ink, cairo_t *cairo)
{
    static const unsigned colours[] = {0, 0x000000, 0x444444, 0xbbbbbb, 0xf3f3f3, 0xffffff, 0x14595f};
    unsigned colour = colours[ink];
    cairo_set_source_rgb(cairo, (colour >> 16) / 255.0, (colour >> 8 & 0xff) / 255.0, (colour & 0xff) / 255.0);
}

static void trace(const struct shape *shape, cairo_t *cairo)
{
    const struct point *points = shape->points;
    cairo_new_path(cairo);
    switch (shape->kind) {
    case SHAPE_LINE:
    case SHAPE_AREA:
        for (size_t i = 0; i < shape->point_count; i++)
            cairo_line_to(cairo, points[i].x, points[i].y);
        if (shape->kind == SHAPE_AREA)
            cairo_close_path(cairo);
        break;
    case SHAPE_BOX:
        cairo_rectangle(cairo, points[0].x, points[0].y, points[1].x, points[1].y);
        break;
    case SHAPE_DISC:
        cairo_arc(cairo, points[0].x, points[0].y, points[1].x, 0, 2 * acos(-1));
        break;
    case SHAPE_TEXT:
        break;
    }
}

static void paint_outline(const struct shape *shape, cairo_t *cairo)
{
    static const double dashes[][2] = {{0, 0}, {5, 3}, {1.5, 2}}; /* as in svg.c */
    trace(shape, cairo);
    if (shape->pen.fill != INK_NONE) {
        paint_ink(shape->pen.fill, cairo);
        cairo_fill_preserve(cairo);
    }
    if (shape->pen.stroke == INK_NONE)
        return;
    paint_ink(shape->pen.stroke, cairo);
    cairo_set_line_width(cairo, shape->pen.width);
    cairo_set_dash(cairo, dashes[shape->pen.dash], shape->pen.dash == DASH_NONE ? 0 : 2, 0);
    cairo_stroke(cairo);
}

static void paint_text(const struct shape *shape, PangoLayout *layout, cairo_t *cairo)
{
    PangoFontDescription *font = pango_font_description_from_string("Liberation Serif");
    pango_font_description_set_absolute_size(font, shape->size * PANGO_SCALE);
    pango_font_description_set_weight(font, shape->bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    pango_layout_set_text(layout, shape->text.data, (int)shape->text.size);
    int width = 0;
    pango_layout_get_size(layout, &width, NULL);
    double before = (double)width / PANGO_SCALE / 2 * (double)shape->anchor;
    double above = (double)pango_layout_get_baseline(layout) / PANGO_SCALE;
    paint_ink(shape->pen.fill, cairo);
    cairo_move_to(cairo, shape->points->x - before, shape->points->y - above);
    pango_cairo_show_layout(cairo, layout);
}

static PangoLayout *new_layout(cairo_t *cairo)
{
    PangoLayout *layout = pango_cairo_create_layout(cairo);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE); /* letters as wide on screen as on paper */
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(pango_layout_get_context(layout), options);
    cairo_font_options_destroy(options);
    pango_layout_context_changed(layout);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    return layout;
}

void paint_drawing(const struct drawing *drawing, cairo_t *cairo)
{
    cairo_save(cairo);
    PangoLayout *layout = new_layout(cairo);
    for (const struct shape *shape = drawing->first; shape != NULL; shape = shape->next) {
        if (shape->kind == SHAPE_TEXT)
            paint_text(shape, layout, cairo);
        else
            paint_outline(shape, cairo);
    }
    g_object_unref(layout);
    cairo_restore(cairo);
}

static cairo_status_t write_bytes(void *output, const unsigned char *bytes, unsigned size)
{
    output_bytes(output, bytes, size);
    return CAIRO_STATUS_SUCCESS;
}

bool paint_png(const struct drawing *drawing, double scale, struct output *output, struct fault *fault)
{
    int width = (int)ceil(drawing->width * scale), height = (int)ceil(drawing->height * scale);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    cairo_t *cairo = cairo_create(surface);
    paint_ink(INK_PAPER, cairo);
    cairo_paint(cairo);
    cairo_scale(cairo, scale, scale);
    paint_drawing(drawing, cairo);
    cairo_status_t status = cairo_status(cairo);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_write_to_png_stream(surface, write_bytes, output);
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    return status == CAIRO_STATUS_SUCCESS ||
           fault_set(fault, FAULT_FILE, "the picture cannot be painted: %s", cairo_status_to_string(status));
}
