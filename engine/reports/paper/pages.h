/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where pages end. Blocks of lines are filled into pages of one height, from the top; pure reckoning, in points.
 *
 * A block is moved to the next page as a whole if it must not be torn or if fewer than two of its lines would stand on
 * either side. What is taller than a page is torn all the same. A block that keeps with the next never stands last on a
 * page, unless all that keep together are taller than a page. */
#ifndef ASSIZE_REPORTS_PAPER_PAGES_H
#define ASSIZE_REPORTS_PAPER_PAGES_H

#include <stdbool.h>
#include <stddef.h>

struct extent {
    double before;      /* space above it; none at the top of a page */
    double top, bottom; /* above and below its lines, in each of its pieces */
    double line;        /* height of a line */
    size_t lines;       /* may be 0 */
    double hang;        /* height of what stands in the margin beside it */
    size_t head;        /* one more than the index of the block that comes again above what is carried over; or 0 */
    bool clears;        /* begins below what hangs in the margin */
    bool keeps_next;
    bool whole;  /* is not torn */
    bool breaks; /* begins a page */
};

struct piece { /* lines of a block on a page */
    size_t block, page, first, count;
    double y;   /* of its upper edge, above `top` */
    bool again; /* a head that was said before */
};

struct pages {
    struct piece *pieces; /* by page, then from the top */
    size_t piece_count, piece_capacity, page_count;
};

/* Fills pages with all blocks; `pages` is zeroed before, freed by pages_clear. */
void pages_fill(struct pages *pages, const struct extent *extents, size_t count, double height);
void pages_clear(struct pages *pages);

#endif
