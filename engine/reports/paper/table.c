/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables on paper: how wide each column is, and how many lines each row takes. */
#include "reports/paper/blocks.h"

static const struct style style_cell = {9, 12, false, INK_INK}, style_row_head = {9, 12, true, INK_INK};
const struct style style_titles = {9, 11.5, false, INK_QUIET};

static const double GAP = 11, PADDING = 2.5; /* between columns; above and below rows */

const struct style *table_style(const struct table_column *column)
{
    return column->is_head ? &style_row_head : &style_cell;
}

/* What a cell wants to be and must be at least. */
static void ask_cell(const struct blocks *blocks, const struct style *style, struct text text, const struct node *cell,
                     struct type_width *widest)
{
    struct type_width sum = type_width(blocks->type, style, text);
    for (const struct node *child = cell ? cell->first : NULL; child != NULL; child = child->next) {
        struct type_width width = type_width(blocks->type, style, child->text);
        if (child->kind == NODE_MARK || child->kind == NODE_TICK) {
            width.line += type_shape_width(child->kind, style->size);
            width.word = width.line; /* a mark is not torn */
        }
        sum.line += width.line;
        sum.word = width.word > sum.word ? width.word : sum.word;
    }
    widest->line = sum.line > widest->line ? sum.line : widest->line;
    widest->word = sum.word > widest->word ? sum.word : widest->word;
}

/* Titles may take several lines, numbers stay in one. Widths are a little more than reckoned: letters may move
 * together. */
static void ask_columns(const struct blocks *blocks, const struct node *table, struct type_width *asked)
{
    enum { WIDEST_WORD = 130 }; /* a longer one is torn */
    static const double more = 1.5;
    for (const struct node *row = table->first; row != NULL; row = row->next) {
        size_t i = 0;
        for (const struct node *cell = row->first; cell != NULL && i < table->column_count; cell = cell->next, i++)
            ask_cell(blocks, table_style(&table->columns[i]), cell->text, cell, &asked[i]);
    }
    for (size_t i = 0; i < table->column_count; i++) {
        if (table->columns[i].is_number)
            asked[i].word = asked[i].line;
        ask_cell(blocks, &style_titles, text_of(table->columns[i].title), NULL, &asked[i]);
        asked[i].line += more;
        asked[i].word = asked[i].word + more < WIDEST_WORD ? asked[i].word + more : WIDEST_WORD;
        asked[i].word = asked[i].word < asked[i].line ? asked[i].word : asked[i].line;
    }
}

/* If all have what they want, what is left is shared by their widths. Else each column gets its longest word, and texts
 * share what is left by how much more each wants. */
static void share_width(const struct type_width *asked, const struct node *table, double width, double *out)
{
    double words = 0, lines = 0, more = 0;
    for (size_t i = 0; i < table->column_count; i++) {
        words += asked[i].word;
        lines += asked[i].line;
        more += table->columns[i].is_number ? 0 : asked[i].line - asked[i].word;
    }
    for (size_t i = 0; i < table->column_count; i++) {
        double wants = table->columns[i].is_number ? 0 : asked[i].line - asked[i].word;
        if (lines <= width)
            out[i] = asked[i].line * (lines > 0 ? width / lines : 1);
        else if (words >= width || more <= 0)
            out[i] = asked[i].word * width / words;
        else
            out[i] = asked[i].word + wants * (width - words) / more;
    }
}

static double sum_of_words(const struct type_width *asked, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += asked[i].word;
    return sum;
}

/* A table too wide for the text takes the margin's width as well. */
static const struct table_place *place_columns(struct blocks *blocks, const struct node *table, double *left)
{
    size_t count = table->column_count;
    struct type_width *asked = memory_new((count + 1) * sizeof *asked);
    struct table_place *place = arena_take(blocks->arena, sizeof *place);
    place->left = arena_take(blocks->arena, (count + 1) * sizeof(double));
    place->width = arena_take(blocks->arena, (count + 1) * sizeof(double));
    ask_columns(blocks, table, asked);
    double gaps = count > 0 ? GAP * (double)(count - 1) : 0;
    if (sum_of_words(asked, count) > PAPER_WIDTH - *left - gaps)
        *left = 0;
    share_width(asked, table, PAPER_WIDTH - *left - gaps, place->width);
    double at = *left;
    for (size_t i = 0; i < count; i++) {
        place->left[i] = at;
        at += place->width[i] + GAP;
    }
    memory_free(asked);
    return place;
}

static bool has_ascii_only(struct text text)
{
    for (size_t i = 0; i < text.size; i++)
        if (text.data[i] < ' ' || text.data[i] > '~')
            return false;
    return true;
}

/* Most cells hold a short plain text: that it takes one line is seen without setting it. */
static size_t cell_lines(struct blocks *blocks, const struct style *style, struct text text, const struct node *cell,
                         double width)
{
    if ((cell == NULL || cell->first == NULL) && has_ascii_only(text) &&
        type_width(blocks->type, style, text).line + 1 <= width)
        return 1;
    type_set(blocks->type, style, text, cell, width);
    blocks->unknown += blocks->type->unknown;
    return type_lines(blocks->type);
}

static void add_caption(struct blocks *blocks, const struct node *table, double left, const struct tagged *in)
{
    struct extent *extent;
    struct block *block = blocks_add(blocks, BLOCK_WORDS, table, &extent);
    block->tag = "Caption";
    block->words = table->text;
    block->style = &style_small;
    block->left = left;
    block->width = PAPER_WIDTH - left;
    block->in = in;
    extent->line = style_small.line;
    extent->clears = left <= 0;
    extent->keeps_next = extent->whole = true;
    extent->bottom = 2;
    size_t lines = cell_lines(blocks, &style_small, table->text, NULL, PAPER_WIDTH - left);
    extent->lines = lines;
}

static struct block *add_row(struct blocks *blocks, enum block_kind kind, const struct node *node,
                             const struct table_place *place, double left, struct extent **extent)
{
    struct block *block = blocks_add(blocks, kind, node, extent);
    block->table = place;
    block->left = left;
    block->width = PAPER_WIDTH - left;
    (*extent)->top = (*extent)->bottom = PADDING;
    (*extent)->line = kind == BLOCK_TITLES ? style_titles.line : style_cell.line;
    (*extent)->lines = 1;
    (*extent)->whole = true;
    return block;
}

static size_t add_titles(struct blocks *blocks, const struct node *table, const struct table_place *place, double left,
                         const struct tagged *in)
{
    struct extent *extent;
    add_row(blocks, BLOCK_TITLES, table, place, left, &extent)->in = in;
    extent->keeps_next = true;
    for (size_t i = 0; i < table->column_count; i++) {
        size_t lines = cell_lines(blocks, &style_titles, text_of(table->columns[i].title), NULL, place->width[i]);
        if (lines > extent->lines)
            extent->lines = lines;
    }
    return blocks->count;
}

static void add_cells(struct blocks *blocks, const struct node *row, const struct table_place *place, double left,
                      const struct tagged *in, size_t head)
{
    const struct node *table = row->parent;
    struct extent *extent;
    add_row(blocks, BLOCK_ROW, row, place, left, &extent)->in = in;
    extent->head = head;
    size_t i = 0;
    for (const struct node *cell = row->first; cell != NULL && i < table->column_count; cell = cell->next, i++) {
        size_t lines = cell_lines(blocks, table_style(&table->columns[i]), cell->text, cell, place->width[i]);
        if (lines > extent->lines)
            extent->lines = lines;
    }
}

void blocks_add_table(struct blocks *blocks, const struct node *table, double left, const struct tagged *in)
{
    enum { SMALL = 6 }; /* rows of a table that is kept together */
    const struct table_place *place = place_columns(blocks, table, &left);
    add_caption(blocks, table, left, in);
    size_t head = add_titles(blocks, table, place, left, in);
    size_t first = blocks->count;
    for (const struct node *row = table->first; row != NULL; row = row->next)
        add_cells(blocks, row, place, left, in, head);
    if (blocks->count - first == 0)
        blocks->extents[head - 1].keeps_next = false;
    for (size_t i = first; i + 1 < blocks->count && blocks->count - first <= SMALL; i++)
        blocks->extents[i].keeps_next = true;
}
