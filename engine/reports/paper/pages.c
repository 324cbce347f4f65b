/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/paper/pages.h"

#include <math.h>

#include "base/memory.h"

enum { LEAST = 2 }; /* lines of a torn block that stand together */

struct filling {
    struct pages *pages;
    const struct extent *extents;
    size_t count;
    double height, y; /* of a page; where the next block may begin */
    double hanging;   /* how far down the margin is taken */
};

static double height_of(const struct extent *extent, size_t lines)
{
    return extent->top + (double)lines * extent->line + extent->bottom;
}

static void add_piece(struct filling *filling, size_t block, size_t first, size_t count, bool again)
{
    struct pages *pages = filling->pages;
    VECTOR_GROW(pages->pieces, pages->piece_count, pages->piece_capacity);
    pages->pieces[pages->piece_count++] = (struct piece){block, pages->page_count - 1, first, count, filling->y, again};
    filling->y += height_of(&filling->extents[block], count);
}

static void next_page(struct filling *filling, const struct extent *carried)
{
    filling->pages->page_count++;
    filling->y = filling->hanging = 0;
    if (carried != NULL && carried->head > 0)
        add_piece(filling, carried->head - 1, 0, filling->extents[carried->head - 1].lines, true);
}

/* Where the block would begin on this page. */
static double beginning(const struct filling *filling, const struct extent *extent)
{
    if (extent->clears && filling->hanging > filling->y)
        return filling->hanging + extent->before;
    return filling->y > 0 ? filling->y + extent->before : 0;
}

/* The least of a block that may stand at the foot of a page. */
static size_t least_lines(const struct extent *extent)
{
    return extent->whole || extent->lines < 2 * LEAST ? extent->lines : LEAST;
}

static double greater(double a, double b) { return a > b ? a : b; }

/* How much must fit below the beginning of block `first` so that it may stand there: all that keeps together, and the
 * least of what follows. */
static double needed(const struct filling *filling, size_t first)
{
    double y = 0, hanging = 0;
    for (size_t i = first; i < filling->count; i++) {
        const struct extent *extent = &filling->extents[i];
        if (i > first)
            y = (extent->clears ? greater(y, hanging) : y) + extent->before;
        hanging = greater(hanging, y + extent->hang);
        y += height_of(extent, extent->keeps_next ? extent->lines : least_lines(extent));
        if (!extent->keeps_next || (i + 1 < filling->count && filling->extents[i + 1].breaks))
            break;
    }
    return greater(y, hanging);
}

static size_t lines_that_fit(const struct filling *filling, const struct extent *extent)
{
    double room = filling->height - filling->y - extent->top - extent->bottom + 1e-6;
    return room < 0 ? 0 : extent->line <= 0 ? extent->lines : (size_t)floor(room / extent->line);
}

/* How many of `left` lines to put here, 0 for none. On a fresh page at least one, or nothing would ever fit. */
static size_t lines_here(const struct filling *filling, const struct extent *extent, size_t left, bool fresh)
{
    size_t fit = lines_that_fit(filling, extent);
    if (fit >= left)
        return left;
    if (fresh)
        return fit > 0 ? fit : 1;
    bool fits_a_page = height_of(extent, extent->lines) <= filling->height;
    if (extent->whole && fits_a_page)
        return 0;
    if (left - fit < LEAST)
        fit = left > 2 * LEAST ? left - LEAST : 0;
    return fit < LEAST ? 0 : fit;
}

static void place(struct filling *filling, size_t block)
{
    const struct extent *extent = &filling->extents[block];
    bool kept = block > 0 && filling->extents[block - 1].keeps_next;
    double need = kept && !extent->breaks ? 0 : needed(filling, block);
    bool fresh = filling->y <= 0;
    if (!fresh &&
        (extent->breaks || (need <= filling->height && beginning(filling, extent) + need > filling->height + 1e-6))) {
        next_page(filling, extent);
        fresh = true;
    }
    filling->y = beginning(filling, extent);
    size_t done = 0;
    do {
        size_t count = lines_here(filling, extent, extent->lines - done, fresh);
        if (done == 0 && (count > 0 || extent->lines == 0))
            filling->hanging = greater(filling->hanging, filling->y + extent->hang);
        if (count > 0 || extent->lines == 0)
            add_piece(filling, block, done, count, false);
        done += count;
        fresh = done < extent->lines;
        if (fresh)
            next_page(filling, extent);
    } while (done < extent->lines);
}

void pages_fill(struct pages *pages, const struct extent *extents, size_t count, double height)
{
    struct filling filling = {.pages = pages, .extents = extents, .count = count, .height = height};
    next_page(&filling, NULL);
    for (size_t i = 0; i < count; i++)
        place(&filling, i);
}

void pages_clear(struct pages *pages)
{
    memory_free(pages->pieces);
    *pages = (struct pages){0};
}
