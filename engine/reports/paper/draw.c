/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/paper/draw.h"

#include <cairo-pdf.h>
#include <string.h>

#include "base/output.h"
#include "base/utf8.h"
#include "reports/paper/ink.h"

enum { DEEPEST = 8 }; /* of the outline */

struct sheet {
    const struct blocks *blocks;
    const struct pages *pages;
    cairo_t *cairo;
    struct text title;
    const size_t *first_piece; /* of each block */
    const struct tagged *open[TAGGED_DEEPEST];
    const char *open_name[TAGGED_DEEPEST];
    size_t open_count;
    const struct tagged *carried; /* the outermost element that was open at the end of the page before */
    int outline[DEEPEST];         /* the entry that was made last at each depth */
};

static const struct piece *piece_of(const struct sheet *sheet, size_t block)
{
    return &sheet->pages->pieces[sheet->first_piece[block]];
}

/* ---- tags ---------------------------------------------------------------------------------------------------------
 */

static void close_tags(struct sheet *sheet, size_t depth)
{
    while (sheet->open_count > depth)
        cairo_tag_end(sheet->cairo, sheet->open_name[--sheet->open_count]);
}

static void draw_number(struct sheet *sheet, const struct block *block, double y);

/* Opens what `block` lies in up to `tagged`, from the outside in; what is open already stays so. Returns the depth. */
static size_t open_up_to(struct sheet *sheet, const struct tagged *tagged, const struct block *block, double y)
{
    if (tagged == NULL)
        return 0;
    size_t depth = open_up_to(sheet, tagged->in, block, y);
    if (depth < sheet->open_count && sheet->open[depth] == tagged)
        return depth + 1;
    close_tags(sheet, depth);
    sheet->open[depth] = tagged;
    sheet->open_name[depth] = depth == 0 && tagged == sheet->carried ? TAG_CARRIED_ON : tagged->name;
    cairo_tag_begin(sheet->cairo, sheet->open_name[depth], NULL);
    sheet->open_count = depth + 1;
    if (block->number > 0 && strcmp(tagged->name, "LI") == 0)
        draw_number(sheet, block, y);
    return depth + 1;
}

static void open_tags(struct sheet *sheet, const struct block *block, double y)
{
    close_tags(sheet, open_up_to(sheet, block->in, block, y));
}

/* ---- lines of words -----------------------------------------------------------------------------------------------
 */

static double foot_in_line(const struct style *style)
{
    static const double ascent = 0.891, descent = 0.216; /* of the font, at 1 point */
    return (style->line - (ascent + descent) * style->size) / 2 + ascent * style->size;
}

static const struct span *span_at(const struct type *type, size_t offset)
{
    const struct span *span = type->spans;
    while (span + 1 < type->spans + type->span_count && span->end <= offset)
        span++;
    return span;
}

static void begin_link(const struct sheet *sheet, const struct target *target, double x, double foot, double width)
{
    char attributes[160];
    const struct style *style = sheet->blocks->type->style;
    const struct piece *piece = piece_of(sheet, target->block);
    snprintf(attributes, sizeof attributes, "page=%zu pos=[0 %.2f] rect=[%.2f %.2f %.2f %.2f]", piece->page + 1,
             PAPER_TOP + piece->y, x, foot - style->size * 0.85, width, style->size * 1.15);
    cairo_tag_begin(sheet->cairo, CAIRO_TAG_LINK, attributes);
}

static void show_run(const struct sheet *sheet, PangoGlyphItem *run, double x, double foot)
{
    cairo_move_to(sheet->cairo, x, foot);
    pango_cairo_show_glyph_item(sheet->cairo, output_taken(sheet->blocks->type->text).data, run);
}

static void draw_unknown(const struct sheet *sheet, PangoGlyphItem *run, double x, double foot, double width)
{
    double size = sheet->blocks->type->style->size;
    cairo_rectangle(sheet->cairo, x, foot - size * 0.72, width, size * 0.9);
    paint_ink(INK_INK, sheet->cairo);
    cairo_fill(sheet->cairo);
    paint_ink(INK_PAPER, sheet->cairo);
    show_run(sheet, run, x, foot);
}

static void draw_run(const struct sheet *sheet, PangoGlyphItem *run, double x, double foot, double width)
{
    const struct type *type = sheet->blocks->type;
    const struct span *span = span_at(type, (size_t)run->item->offset);
    const struct node *node = span->node;
    const char *bytes = output_taken(type->text).data + run->item->offset;
    paint_ink(type->style->ink, sheet->cairo);
    if (span->is_unknown) {
        draw_unknown(sheet, run, x, foot, width);
        return;
    }
    if (node != NULL && (node->kind == NODE_MARK || node->kind == NODE_TICK) && memcmp(bytes, SHAPE_PLACE, 3) == 0) {
        ink_shape(node, type->style->size, x, foot, sheet->cairo);
        return;
    }
    const struct target *target = NULL;
    if (node != NULL && node->kind == NODE_LINK && node->style == LINK_INSIDE)
        target = blocks_target(sheet->blocks, node->id);
    if (target != NULL) {
        paint_ink(INK_ACCENT, sheet->cairo);
        begin_link(sheet, target, x, foot, width);
    }
    show_run(sheet, run, x, foot);
    if (target != NULL)
        cairo_tag_end(sheet->cairo, CAIRO_TAG_LINK);
}

static double run_width(const PangoGlyphItem *run)
{
    return (double)pango_glyph_string_get_width(run->glyphs) / PANGO_SCALE;
}

/* Lines of what was set last, the first of them at `y`; to the right if `is_right`. */
static void draw_lines(const struct sheet *sheet, size_t first, size_t count, double x, double y, double width,
                       bool is_right)
{
    const struct type *type = sheet->blocks->type;
    size_t end = first + count < type_lines(type) ? first + count : type_lines(type);
    for (size_t i = first; i < end; i++, y += type->style->line) {
        PangoLayoutLine *line = pango_layout_get_line_readonly(type->layout, (int)i);
        double at = x, taken = 0;
        for (const GSList *runs = line->runs; is_right && runs != NULL; runs = runs->next)
            taken += run_width(runs->data);
        at += is_right ? width - taken : 0;
        for (const GSList *runs = line->runs; runs != NULL; runs = runs->next) {
            double run = run_width(runs->data);
            draw_run(sheet, runs->data, at, y + foot_in_line(type->style), run);
            at += run;
        }
    }
}

/* Sets and draws a text on one line, untagged. */
static void draw_text(const struct sheet *sheet, const struct style *style, struct text text, double x, double y,
                      double width, bool is_right)
{
    type_set(sheet->blocks->type, style, text, NULL, width);
    draw_lines(sheet, 0, 1, x, y, width, is_right);
}

static void draw_number(struct sheet *sheet, const struct block *block, double y)
{
    enum { BEFORE = 22, WIDTH = 20 };
    char digits[16];
    snprintf(digits, sizeof digits, "%u", block->number);
    cairo_tag_begin(sheet->cairo, "Lbl", NULL);
    draw_text(sheet, &style_number, text_of(digits), PAPER_LEFT + block->left - BEFORE, y, WIDTH, false);
    cairo_tag_end(sheet->cairo, "Lbl");
}

/* ---- blocks -------------------------------------------------------------------------------------------------------
 */

static void draw_words(struct sheet *sheet, const struct block *block, const struct piece *piece, double y)
{
    if (block->tag == NULL)
        return;
    cairo_tag_begin(sheet->cairo, block->tag, NULL);
    type_set(sheet->blocks->type, block->style, block->words, block->words.data ? NULL : block->node, block->width);
    draw_lines(sheet, piece->first, piece->count, PAPER_LEFT + block->left, y, block->width, false);
    cairo_tag_end(sheet->cairo, block->tag);
}

static void draw_hanging(struct sheet *sheet, const struct block *block, double y)
{
    struct text nothing = {NULL, 0};
    cairo_tag_begin(sheet->cairo, block->hanging_tag, NULL);
    type_set(sheet->blocks->type, block->hanging_style, nothing, block->hanging, PAPER_MARGIN);
    double shift = foot_in_line(block->style ? block->style : &style_small) - foot_in_line(block->hanging_style);
    draw_lines(sheet, 0, type_lines(sheet->blocks->type), PAPER_LEFT, y + shift, PAPER_MARGIN, false);
    cairo_tag_end(sheet->cairo, block->hanging_tag);
}

/* Titles stand at the foot of their row, cells at its head. */
static void draw_titles(struct sheet *sheet, const struct block *block, const struct piece *piece, double y)
{
    const struct node *table = block->node;
    if (!piece->again)
        cairo_tag_begin(sheet->cairo, "TR", NULL);
    for (size_t i = 0; i < table->column_count; i++) {
        double width = block->table->width[i];
        if (!piece->again)
            cairo_tag_begin(sheet->cairo, "TH", NULL);
        type_set(sheet->blocks->type, &style_titles, text_of(table->columns[i].title), NULL, width);
        size_t lines = type_lines(sheet->blocks->type), above = piece->count > lines ? piece->count - lines : 0;
        draw_lines(sheet, 0, lines, PAPER_LEFT + block->table->left[i], y + (double)above * style_titles.line, width,
                   table->columns[i].is_number);
        if (!piece->again)
            cairo_tag_end(sheet->cairo, "TH");
    }
    if (!piece->again)
        cairo_tag_end(sheet->cairo, "TR");
}

static void draw_row(struct sheet *sheet, const struct block *block, const struct piece *piece, double y)
{
    const struct node *table = block->node->parent;
    size_t i = 0;
    cairo_tag_begin(sheet->cairo, "TR", NULL);
    for (const struct node *cell = block->node->first; cell != NULL && i < table->column_count; cell = cell->next) {
        const struct table_column *column = &table->columns[i];
        double width = block->table->width[i], left = PAPER_LEFT + block->table->left[i];
        cairo_tag_begin(sheet->cairo, column->is_head ? "TH" : "TD", NULL);
        type_set(sheet->blocks->type, table_style(column), cell->text, cell, width);
        draw_lines(sheet, piece->first, piece->count, left, y, width, column->is_number);
        cairo_tag_end(sheet->cairo, column->is_head ? "TH" : "TD");
        i++;
    }
    cairo_tag_end(sheet->cairo, "TR");
}

static void draw_figure(struct sheet *sheet, const struct block *block, double y)
{
    cairo_tag_begin(sheet->cairo, "Figure", NULL);
    cairo_save(sheet->cairo);
    cairo_translate(sheet->cairo, PAPER_LEFT + block->left, y);
    cairo_scale(sheet->cairo, block->scale, block->scale);
    paint_drawing(block->node->drawing, sheet->cairo);
    cairo_restore(sheet->cairo);
    cairo_tag_end(sheet->cairo, "Figure");
}

/* The words that were set last, without the places of shapes. */
static struct text words_said(const struct sheet *sheet, struct arena *arena)
{
    enum { LONGEST = 160 };
    AUTO(output) said = output_memory();
    struct text set = output_taken(sheet->blocks->type->text);
    for (size_t i = 0; i < set.size; i++)
        if (set.size - i >= 3 && memcmp(set.data + i, SHAPE_PLACE, 3) == 0)
            i += 2;
        else
            output_bytes(said, set.data + i, 1);
    return text_keep(arena, utf8_cut(output_taken(said), LONGEST));
}

static void outline(struct sheet *sheet, const struct node *heading, size_t depth, const struct piece *piece)
{
    if (depth == 0 || depth >= DEEPEST)
        return;
    AUTO(arena) arena = arena_new();
    struct text nothing = {NULL, 0};
    char place[64];
    snprintf(place, sizeof place, "page=%zu pos=[0 %.2f]", piece->page + 1, PAPER_TOP + piece->y);
    type_set(sheet->blocks->type, &style_small, nothing, heading, PAPER_WIDTH);
    sheet->outline[depth] = cairo_pdf_surface_add_outline(cairo_get_target(sheet->cairo), sheet->outline[depth - 1],
                                                          text_string(arena, words_said(sheet, arena)), place,
                                                          depth == 1 ? CAIRO_PDF_OUTLINE_FLAG_OPEN : 0);
    for (size_t deeper = depth + 1; deeper < DEEPEST; deeper++)
        sheet->outline[deeper] = sheet->outline[depth]; /* where a depth is left out */
}

static void draw_signs(struct sheet *sheet, const struct block *block, double y)
{
    const struct node *sign = block->node;
    double width = sign_width(block), left = PAPER_LEFT + block->left;
    for (unsigned i = 0; i < block->together && sign != NULL && sign->kind == NODE_SIGN; i++, sign = sign->next) {
        cairo_tag_begin(sheet->cairo, "P", NULL);
        type_set(sheet->blocks->type, block->style, sign->text, NULL, width);
        draw_lines(sheet, 0, type_lines(sheet->blocks->type), left, y, width, false);
        cairo_tag_end(sheet->cairo, "P");
        left += width + PAPER_GAP;
    }
}

static void draw_piece(struct sheet *sheet, const struct piece *piece)
{
    const struct block *block = &sheet->blocks->blocks[piece->block];
    double y = PAPER_TOP + piece->y + sheet->blocks->extents[piece->block].top;
    bool hangs = piece->first == 0 && block->hanging != NULL, first = hangs && block->hanging->kind == NODE_HEADING;
    if (first) {
        outline(sheet, block->hanging, 1, piece);
        close_tags(sheet, 0);
        draw_hanging(sheet, block, y - block->hanging_above);
    }
    if (piece->first == 0)
        outline(sheet, block->node, block->depth, piece);
    open_tags(sheet, block, y);
    switch (block->kind) {
    case BLOCK_SIGN:
        draw_signs(sheet, block, y);
        break;
    case BLOCK_WORDS:
        draw_words(sheet, block, piece, y);
        break;
    case BLOCK_TITLES:
        draw_titles(sheet, block, piece, y);
        break;
    case BLOCK_ROW:
        draw_row(sheet, block, piece, y);
        break;
    case BLOCK_FIGURE:
        draw_figure(sheet, block, y);
        break;
    }
    if (hangs && !first)
        draw_hanging(sheet, block, y);
}

/* ---- pages --------------------------------------------------------------------------------------------------------
 */

static void draw_frame(const struct sheet *sheet, size_t page)
{
    enum { HEAD_ABOVE = 26, FOOT_BELOW = 12, NUMBER_WIDTH = 80 };
    char number[64];
    snprintf(number, sizeof number, "%zu of %zu", page + 1, sheet->pages->page_count);
    draw_text(sheet, &style_running, sheet->title, PAPER_LEFT, PAPER_TOP - HEAD_ABOVE, PAPER_WIDTH, false);
    draw_text(sheet, &style_running, text_of(number), PAPER_LEFT + PAPER_WIDTH - NUMBER_WIDTH,
              PAPER_TOP + PAPER_HEIGHT + FOOT_BELOW, NUMBER_WIDTH, true);
}

/* What is only drawn comes first, while no tag is open: it is not read out. Then the words. */
static void draw_page(struct sheet *sheet, const struct piece *pieces, size_t count)
{
    draw_frame(sheet, pieces->page);
    for (size_t i = 0; i < count; i++) {
        const struct block *block = &sheet->blocks->blocks[pieces[i].block];
        const struct extent *extent = &sheet->blocks->extents[pieces[i].block];
        ink_ground(block, extent, &pieces[i], sheet->cairo);
        if (pieces[i].again)
            draw_titles(sheet, block, &pieces[i], PAPER_TOP + pieces[i].y + extent->top);
    }
    for (size_t i = 0; i < count; i++)
        if (!pieces[i].again)
            draw_piece(sheet, &pieces[i]);
    sheet->carried = sheet->open_count > 0 ? sheet->open[0] : NULL;
    close_tags(sheet, 0);
    cairo_show_page(sheet->cairo);
}

static size_t *first_pieces(const struct blocks *blocks, const struct pages *pages)
{
    size_t *first = memory_new((blocks->count + 1) * sizeof *first);
    for (size_t i = pages->piece_count; i-- > 0;)
        if (!pages->pieces[i].again)
            first[pages->pieces[i].block] = i;
    return first;
}

void draw_pages(const struct document *document, const struct blocks *blocks, const struct pages *pages, cairo_t *cairo)
{
    size_t *first = first_pieces(blocks, pages);
    struct sheet sheet = {
        .blocks = blocks, .pages = pages, .cairo = cairo, .title = document->title, .first_piece = first};
    for (size_t i = 0, end; i < pages->piece_count; i = end) {
        for (end = i; end < pages->piece_count && pages->pieces[end].page == pages->pieces[i].page;)
            end++;
        draw_page(&sheet, &pages->pieces[i], end - i);
    }
    memory_free(first);
}
