/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A document as blocks of lines below each other, each with its place on the width of the page: what pages are filled
 * with (pages.h) and what is drawn (draw.h). Words are set twice, here to learn their height and again to draw them, so
 * that a report of any length needs little memory. */
#ifndef ASSIZE_REPORTS_PAPER_BLOCKS_H
#define ASSIZE_REPORTS_PAPER_BLOCKS_H

#include "reports/paper/pages.h"
#include "reports/paper/type.h"

enum block_kind {
    BLOCK_WORDS,
    BLOCK_TITLES, /* the head of a table */
    BLOCK_ROW,
    BLOCK_FIGURE,
    BLOCK_SIGN,
};

/* What a reader by ear is told that a block lies in: elements of the tagged file, from the inside out. */
struct tagged {
    const char *name; /* "Table" */
    const struct tagged *in;
};
enum { TAGGED_DEEPEST = 12 }; /* what lies deeper is told as lying no deeper */
size_t tagged_depth(const struct tagged *tagged);

struct table_place {
    double *left, *width; /* of each column, from the left of the text */
};

struct block {
    enum block_kind kind;
    const struct node *node;
    const char *tag; /* of a block of words: "P", "H2" */
    const struct style *style;
    double left, width; /* from the left of the text */
    const struct tagged *in;
    const struct table_place *table;
    const struct node *hanging; /* a heading or margin that stands beside it */
    double hanging_above;       /* how far above the first line it begins, where it does not stand beside it */
    const char *hanging_tag;
    const struct style *hanging_style;
    struct text words; /* instead of the node's own text: a caption */
    unsigned number;   /* of an item in a list: stands before it */
    double rule;       /* thickness of a line above it, over the whole width */
    double rule_above; /* how far above the first line */
    enum ink rule_ink;
    enum role role;    /* ROLE_DO and ROLE_CAUTION stand on a ground of their own */
    unsigned depth;    /* of a heading: in the outline of the file, from 1; 0: not in it. One that hangs is at 1 */
    unsigned together; /* lines to sign that have room in a row */
    double scale;      /* of a figure */
};

struct blocks {
    struct arena *arena;
    struct type *type;
    struct block *blocks;
    struct extent *extents; /* one a block */
    size_t count, capacity, extent_capacity;
    struct target {
        struct text id;
        size_t block;
    } * targets; /* of links: sections */
    size_t target_count, target_capacity;
    uint64_t unknown; /* characters without a letter, in all */
};

/* The page that text may take, below a running head and above a running foot: it lies within A4 and, printed on it
 * without scaling, within Letter. */
enum { PAPER_LEFT = 54, PAPER_TOP = 78, PAPER_WIDTH = 487, PAPER_HEIGHT = 676, PAPER_MARGIN = 98, PAPER_GAP = 14 };

/* Borrows document and type. */
struct blocks *blocks_new(const struct document *document, struct type *type);
void blocks_free(struct blocks *blocks);
OWNER(blocks);

const struct target *blocks_target(const struct blocks *blocks, struct text id); /* NULL if there is none */

/* For table.c: a new block, and the words of a table. */
struct block *blocks_add(struct blocks *blocks, enum block_kind kind, const struct node *node, struct extent **extent);
void blocks_add_table(struct blocks *blocks, const struct node *table, double left, const struct tagged *in);

double sign_width(const struct block *block); /* of a line to sign */

/* How the words of a cell are set. */
const struct style *table_style(const struct table_column *column);
extern const struct style style_titles, style_small, style_number, style_running;

#endif
