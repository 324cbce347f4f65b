/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/paper/ink.h"

#include <math.h>

static void fill_box(cairo_t *cairo, enum ink ink, double x, double y, double width, double height)
{
    cairo_rectangle(cairo, x, y, width, height);
    paint_ink(ink, cairo);
    cairo_fill(cairo);
}

/* The four shapes of markup.c, on a square of 12. */
static void trace_mark(enum severity severity, cairo_t *cairo)
{
    switch (severity) {
    case SEVERITY_AT_RISK:
        cairo_move_to(cairo, 6, 0);
        cairo_line_to(cairo, 12, 6);
        cairo_line_to(cairo, 6, 12);
        cairo_line_to(cairo, 0, 6);
        cairo_close_path(cairo);
        break;
    case SEVERITY_BREACH:
        cairo_rectangle(cairo, 1, 1, 10, 10);
        cairo_rectangle(cairo, 2.5, 2.5, 7, 3.5);
        break;
    case SEVERITY_PRACTICE:
        cairo_arc(cairo, 6, 6, 5.4, 0, 2 * acos(-1));
        cairo_new_sub_path(cairo);
        cairo_arc(cairo, 6, 6, 3.8, 0, 2 * acos(-1));
        break;
    case SEVERITY_NOTICE:
    case SEVERITY_COUNT:
        cairo_rectangle(cairo, 1, 5, 10, 2);
        break;
    }
}

void ink_shape(const struct node *node, double size, double x, double foot, cairo_t *cairo)
{
    cairo_save(cairo);
    cairo_new_path(cairo);
    if (node->kind == NODE_TICK) {
        double side = size * 0.9;
        cairo_rectangle(cairo, x + 0.4, foot - side + size * 0.12, side, side);
        cairo_set_line_width(cairo, 0.8);
        cairo_stroke(cairo);
    } else {
        double side = size * 0.72;
        cairo_translate(cairo, x, foot - side + size * 0.02);
        cairo_scale(cairo, side / 12, side / 12);
        cairo_set_fill_rule(cairo, CAIRO_FILL_RULE_EVEN_ODD);
        trace_mark((enum severity)node->style, cairo);
        cairo_fill(cairo);
    }
    cairo_restore(cairo);
}

static void ground_of_role(const struct block *block, double y, double height, cairo_t *cairo)
{
    enum { SIDE = 9 };
    static const double bar = 2.25;
    double left = PAPER_LEFT + block->left - SIDE;
    if (block->role != ROLE_DO && block->role != ROLE_CAUTION)
        return;
    fill_box(cairo, INK_TINT, left, y, block->width + 2 * SIDE, height);
    fill_box(cairo, block->role == ROLE_DO ? INK_ACCENT : INK_INK, left, y, bar, height);
}

static void lines_to_sign(const struct block *block, double y, cairo_t *cairo)
{
    static const double thickness = 0.6;
    double width = sign_width(block), left = PAPER_LEFT + block->left;
    const struct node *sign = block->node;
    for (unsigned i = 0; i < block->together && sign != NULL && sign->kind == NODE_SIGN; i++, sign = sign->next) {
        fill_box(cairo, INK_INK, left, y, width, thickness);
        left += width + PAPER_GAP;
    }
}

void ink_ground(const struct block *block, const struct extent *extent, const struct piece *piece, cairo_t *cairo)
{
    static const double hair = 0.4, line = 0.6;
    double y = PAPER_TOP + piece->y, height = extent->top + (double)piece->count * extent->line + extent->bottom;
    double left = PAPER_LEFT + block->left;
    if (block->rule > 0 && block->rule_ink != INK_NONE && piece->first == 0)
        fill_box(cairo, block->rule_ink, PAPER_LEFT, y, PAPER_WIDTH, block->rule);
    if (block->kind == BLOCK_TITLES)
        fill_box(cairo, INK_INK, left, y + height - line, block->width, line);
    if (block->kind == BLOCK_ROW)
        fill_box(cairo, INK_LINE, left, y + height - hair, block->width, hair);
    if (block->kind == BLOCK_SIGN)
        lines_to_sign(block, y + extent->top - 2, cairo);
    double ruled = block->rule > 0 && piece->first == 0 ? block->rule_above : 0;
    ground_of_role(block, y + ruled, height - ruled, cairo);
}
