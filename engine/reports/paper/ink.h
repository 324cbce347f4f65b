/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands on paper beside words: lines, grounds, and the shapes of marks. */
#ifndef ASSIZE_REPORTS_PAPER_INK_H
#define ASSIZE_REPORTS_PAPER_INK_H

#include "reports/paper/blocks.h"

/* The shape of a mark or an empty box to tick; `foot` is the foot of the letters beside it. */
void ink_shape(const struct node *node, double size, double x, double foot, cairo_t *cairo);

/* Lines above, below and beside a piece of a block, and the ground it stands on. */
void ink_ground(const struct block *block, const struct extent *extent, const struct piece *piece, cairo_t *cairo);

#endif
