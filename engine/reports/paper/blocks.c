/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/paper/blocks.h"

#include <math.h>

#include "reports/phrases.h"

/* As the page prints (html_style.c): one serif, a margin in which headings hang, quiet small print. */
static const struct style style_title = {24, 28, false, INK_INK}, style_heading = {12, 14.5, true, INK_INK},
                          style_part = {14.5, 18.5, false, INK_INK}, style_rule = {12, 15.5, true, INK_INK},
                          style_entry = {10.25, 13.5, true, INK_INK}, style_margin = {9, 12, false, INK_QUIET};
static const struct style style_roles[] = {
    [ROLE_PLAIN] = {10.25, 13.75, false, INK_INK},   [ROLE_VERDICT] = {17, 21.5, false, INK_INK},
    [ROLE_LEAD] = {11, 14.75, false, INK_INK},       [ROLE_ABOVE] = {9.75, 13, false, INK_QUIET},
    [ROLE_SMALL] = {9, 12, false, INK_QUIET},        [ROLE_DO] = {10.25, 13.75, false, INK_INK},
    [ROLE_CAUTION] = {10.25, 13.75, false, INK_INK},
};
const struct style style_small = {9, 12, false, INK_QUIET}, style_number = {14, 13.75, false, INK_ACCENT},
                   style_running = {8, 10, false, INK_QUIET};

enum { TEXT_LEFT = PAPER_MARGIN + PAPER_GAP };

struct walk {
    struct blocks *blocks;
    double left; /* of what is set now */
    const struct tagged *in;
    int level;                /* of headings */
    unsigned number;          /* of the item whose first paragraph comes next; else 0 */
    double rule, rule_before; /* of the line above the next block, and the space above that */
    enum ink rule_ink;
    const struct node *hanging; /* a heading that hangs beside the next block */
    size_t section;             /* first block of the section that is walked */
    bool breaks;                /* the next block begins a page */
};

static void walk_node(struct walk *walk, const struct node *node);

struct block *blocks_add(struct blocks *blocks, enum block_kind kind, const struct node *node, struct extent **extent)
{
    size_t capacity = blocks->capacity;
    VECTOR_GROW(blocks->blocks, blocks->count, blocks->capacity);
    if (blocks->capacity != capacity || blocks->extents == NULL)
        blocks->extents = memory_resize(blocks->extents, blocks->capacity, sizeof *blocks->extents);
    *extent = &blocks->extents[blocks->count];
    **extent = (struct extent){0};
    struct block *block = &blocks->blocks[blocks->count++];
    *block = (struct block){.kind = kind, .node = node, .width = PAPER_WIDTH};
    return block;
}

size_t tagged_depth(const struct tagged *tagged)
{
    size_t depth = 0;
    for (; tagged != NULL; tagged = tagged->in)
        depth++;
    return depth;
}

static const struct tagged *tagged(struct walk *walk, const char *name)
{
    if (tagged_depth(walk->in) >= TAGGED_DEEPEST)
        return walk->in;
    struct tagged *inner = arena_take(walk->blocks->arena, sizeof *inner);
    *inner = (struct tagged){name, walk->in};
    return inner;
}

static const char *heading_tag(int level)
{
    static const char *const tags[] = {"H1", "H2", "H3", "H4", "H5", "H6"};
    return tags[level < 1 ? 0 : level > 6 ? 5 : level - 1];
}

static size_t count_lines(struct blocks *blocks, const struct style *style, struct text text, const struct node *node,
                          double width)
{
    type_set(blocks->type, style, text, node, width);
    blocks->unknown += blocks->type->unknown;
    return type_lines(blocks->type);
}

/* What waits for the next block: a line above it, a heading beside it, a page of its own. */
static void take_waiting(struct walk *walk, struct block *block, struct extent *extent)
{
    enum { BELOW_RULE = 8 };
    if (walk->rule > 0) {
        block->rule = walk->rule;
        block->rule_ink = walk->rule_ink;
        block->rule_above = BELOW_RULE;
        extent->before = walk->rule_before;
        extent->top += BELOW_RULE;
        extent->clears = true;
        walk->rule = 0;
    }
    if (walk->hanging != NULL) {
        struct text nothing = {NULL, 0};
        size_t lines = count_lines(walk->blocks, &style_heading, nothing, walk->hanging, PAPER_MARGIN);
        block->hanging = walk->hanging;
        block->hanging_tag = "H2";
        block->hanging_style = &style_heading;
        if (block->left > 0) {
            extent->hang = extent->top + (double)lines * style_heading.line;
        } else { /* what takes the margin's width as well stands below the heading */
            block->hanging_above = (double)lines * style_heading.line + 4;
            extent->top += block->hanging_above;
        }
        walk->hanging = NULL;
    }
    extent->breaks = walk->breaks;
    walk->breaks = false;
}

static struct block *add_words(struct walk *walk, const struct node *node, const char *tag, const struct style *style,
                               struct extent **extent)
{
    struct block *block = blocks_add(walk->blocks, BLOCK_WORDS, node, extent);
    block->tag = tag;
    block->style = style;
    block->left = walk->left;
    block->width = PAPER_WIDTH - walk->left;
    block->in = walk->in;
    (*extent)->line = style->line;
    take_waiting(walk, block, *extent);
    return block;
}

/* A block without words, for what waits when nothing else comes that it could stand beside. */
static void add_empty(struct walk *walk)
{
    struct extent *extent;
    add_words(walk, NULL, NULL, &style_small, &extent)->in = NULL;
}

/* ---- paragraphs ---------------------------------------------------------------------------------------------------
 */

static const double BOX_SIDE = 9, BOX_PADDING = 5;

static bool is_boxed(enum role role) { return role == ROLE_DO || role == ROLE_CAUTION; }

static bool leads_to_section(const struct node *paragraph)
{
    return paragraph->parent->kind == NODE_SECTION && paragraph->next != NULL && paragraph->next->kind == NODE_SECTION;
}

static void walk_paragraph(struct walk *walk, const struct node *node)
{
    enum role role = (enum role)node->style;
    struct extent *extent;
    struct block *block = add_words(walk, node, "P", &style_roles[role], &extent);
    size_t own = walk->blocks->count - 1;
    block->role = role;
    bool follows_row = own > walk->section && walk->blocks->blocks[own - 1].kind == BLOCK_ROW;
    if (extent->before <= 0 && own > walk->section)
        extent->before = is_boxed(role) ? 7 : follows_row ? 6 : role == ROLE_SMALL ? 2.5 : 5;
    bool ends_entry = role == ROLE_SMALL && node->next == NULL && own > walk->section;
    if ((follows_row && role == ROLE_SMALL) || ends_entry) /* where it comes from stands with what it is about */
        walk->blocks->extents[own - 1].keeps_next = true;
    if (is_boxed(role)) {
        block->left += BOX_SIDE;
        block->width -= 2 * BOX_SIDE;
        extent->top += BOX_PADDING;
        extent->bottom += BOX_PADDING;
        extent->whole = true;
    }
    if (role == ROLE_DO && own > walk->section)
        walk->blocks->extents[own - 1].keeps_next = true;
    bool explains_heading = role == ROLE_SMALL && own == walk->section + 1;
    extent->keeps_next = (role == ROLE_DO || explains_heading || leads_to_section(node)) && node->next != NULL;
    block->number = walk->number;
    walk->number = 0;
    double width = block->width;
    struct text nothing = {NULL, 0};
    size_t lines = count_lines(walk->blocks, block->style, nothing, node, width);
    extent->lines = lines;
}

static void walk_list(struct walk *walk, const struct node *list)
{
    enum { INDENT = 22 };
    const struct tagged *outside = walk->in, *inside;
    unsigned number = 0;
    if (list->first == NULL)
        return;
    walk->in = inside = tagged(walk, "L");
    walk->left += INDENT;
    for (const struct node *item = list->first; item != NULL; item = item->next) {
        walk->number = ++number;
        walk->in = inside;
        walk->in = tagged(walk, "LI");
        walk->in = tagged(walk, "LBody");
        size_t first = walk->blocks->count;
        for (const struct node *child = item->first; child != NULL; child = child->next)
            walk_node(walk, child);
        for (size_t i = first; i + 1 < walk->blocks->count; i++)
            walk->blocks->extents[i].keeps_next = true;
        if (first < walk->blocks->count && number > 1)
            walk->blocks->extents[first].before = 8;
    }
    walk->number = 0;
    walk->left -= INDENT;
    walk->in = outside;
}

/* ---- sections -----------------------------------------------------------------------------------------------------
 */

static void walk_heading(struct walk *walk, const struct node *node)
{
    const struct node *section = node->parent;
    if (walk->level == 2 && section->kind == NODE_SECTION) { /* hangs in the margin */
        walk->hanging = node;
        return;
    }
    const struct style *style = walk->level == 1                  ? &style_title
                                : section->style == SECTION_ENTRY ? &style_entry
                                : section->style == SECTION_PART  ? &style_part
                                                                  : &style_rule;
    struct extent *extent;
    add_words(walk, node, heading_tag(walk->level), style, &extent)->depth = (unsigned)walk->level - 1;
    struct text nothing = {NULL, 0};
    size_t lines = count_lines(walk->blocks, style, nothing, node, PAPER_WIDTH - walk->left);
    extent->lines = lines;
    extent->whole = true;
    extent->keeps_next = true;
}

/* Beside the section's first block. */
static void walk_margin(struct walk *walk, const struct node *node)
{
    if (walk->section >= walk->blocks->count || walk->blocks->blocks[walk->section].hanging != NULL)
        return;
    struct block *block = &walk->blocks->blocks[walk->section];
    struct extent *extent = &walk->blocks->extents[walk->section];
    struct text nothing = {NULL, 0};
    size_t lines = count_lines(walk->blocks, &style_margin, nothing, node, PAPER_MARGIN);
    block->hanging = node;
    block->hanging_tag = "P";
    block->hanging_style = &style_margin;
    extent->hang = extent->top + (double)lines * style_margin.line;
}

static void rule_above(struct walk *walk, double rule, enum ink ink, double before)
{
    if (walk->rule > 0) { /* the outer section's comes first and stays */
        walk->rule_before = fmax(walk->rule_before, before);
        return;
    }
    walk->rule = rule;
    walk->rule_ink = ink;
    walk->rule_before = before;
}

static bool follows_remedy(const struct node *section)
{
    const struct node *before = section->parent->first;
    while (before->next != section)
        before = before->next;
    return before->kind == NODE_PARAGRAPH && before->style == ROLE_DO;
}

static bool has_margin(const struct node *section)
{
    const struct node *child = section->first;
    while (child != NULL && child->kind != NODE_MARGIN)
        child = child->next;
    return child != NULL;
}

static void begin_section(struct walk *walk, const struct node *section)
{
    if (walk->hanging != NULL && has_margin(section)) /* only one thing can stand in a margin */
        add_empty(walk);
    if (walk->level == 2)
        rule_above(walk, 1.5, INK_INK, 24);
    else if (section->style == SECTION_PART)
        rule_above(walk, 1.5, INK_INK, 24);
    else if (section->style != SECTION_ENTRY)
        rule_above(walk, 0.75, INK_LINE, 18);
    else
        rule_above(walk, 0.5, section != section->parent->first && follows_remedy(section) ? INK_NONE : INK_LINE, 7);
}

static void walk_section(struct walk *walk, const struct node *section)
{
    size_t outer = walk->section;
    walk->level++;
    begin_section(walk, section);
    walk->section = walk->blocks->count;
    struct blocks *blocks = walk->blocks;
    if (section->id.size > 0) {
        VECTOR_GROW(blocks->targets, blocks->target_count, blocks->target_capacity);
        blocks->targets[blocks->target_count++] = (struct target){section->id, blocks->count};
    }
    for (const struct node *child = section->first; child != NULL; child = child->next)
        walk_node(walk, child);
    if (walk->hanging != NULL)
        add_empty(walk);
    walk->section = outer;
    walk->level--;
}

/* ---- the rest -----------------------------------------------------------------------------------------------------
 */

double sign_width(const struct block *block)
{
    return (block->width - (block->together - 1) * PAPER_GAP) / block->together;
}

static void walk_table(struct walk *walk, const struct node *table)
{
    size_t first = walk->blocks->count;
    blocks_add_table(walk->blocks, table, walk->left, tagged(walk, "Table"));
    take_waiting(walk, &walk->blocks->blocks[first], &walk->blocks->extents[first]);
    if (walk->blocks->extents[first].before <= 0 && first > walk->section)
        walk->blocks->extents[first].before = 9;
}

static void walk_figure(struct walk *walk, const struct node *figure)
{
    enum { LARGEST = PAPER_HEIGHT - 60 };
    const struct drawing *drawing = figure->drawing;
    struct extent *extent;
    bool wide = drawing->width > PAPER_WIDTH - walk->left;
    double text_left = walk->left;
    walk->left = wide ? 0 : text_left;
    struct block *caption = add_words(walk, figure, "P", &style_small, &extent);
    walk->left = text_left;
    caption->words = drawing->title;
    if (extent->before <= 0)
        extent->before = 9;
    extent->bottom = 4;
    extent->clears = extent->clears || wide;
    extent->keeps_next = true;
    double left = caption->left, width = caption->width;
    size_t lines = count_lines(walk->blocks, &style_small, drawing->title, NULL, width);
    extent->lines = lines;

    struct block *block = blocks_add(walk->blocks, BLOCK_FIGURE, figure, &extent);
    block->left = left;
    block->width = width;
    block->in = walk->in;
    block->scale = fmin(1, fmin(width / drawing->width, LARGEST / drawing->height));
    extent->lines = 1;
    extent->line = drawing->height * block->scale;
    extent->bottom = 8;
}

static bool is_short_sign(const struct node *node)
{
    return node != NULL && node->kind == NODE_SIGN && node->style == SIGN_SHORT;
}

/* Short lines that follow each other share a row; the later ones were set with the first. */
static void walk_sign(struct walk *walk, const struct node *node)
{
    enum { SHORTEST = 150, ABOVE = 34 };
    unsigned room = (unsigned)((PAPER_WIDTH - walk->left) / SHORTEST), before = 0;
    const struct node *first = node->parent->first;
    for (const struct node *at = first; at != node; at = at->next)
        before = is_short_sign(at) ? before + 1 : 0;
    if (is_short_sign(node) && before % room != 0)
        return;
    struct extent *extent;
    struct block *block = add_words(walk, node, "P", &style_small, &extent);
    size_t own = walk->blocks->count - 1;
    block->kind = BLOCK_SIGN;
    block->together = is_short_sign(node) ? room : 1;
    double width = sign_width(block);
    extent->top += ABOVE; /* room to write in */
    extent->bottom += 6;
    extent->whole = true;
    for (unsigned i = 0; node != NULL && i < room && (i == 0 || is_short_sign(node)); i++, node = node->next) {
        size_t lines = count_lines(walk->blocks, &style_small, node->text, NULL, width);
        if (lines > walk->blocks->extents[own].lines)
            walk->blocks->extents[own].lines = lines;
        if (walk->blocks->blocks[own].together == 1)
            break;
    }
}

static void walk_node(struct walk *walk, const struct node *node)
{
    switch (node->kind) {
    case NODE_SECTION:
        walk_section(walk, node);
        break;
    case NODE_HEADING:
        walk_heading(walk, node);
        break;
    case NODE_PARAGRAPH:
        walk_paragraph(walk, node);
        break;
    case NODE_LIST:
        walk_list(walk, node);
        break;
    case NODE_MARGIN:
        walk_margin(walk, node);
        break;
    case NODE_TABLE:
        walk_table(walk, node);
        break;
    case NODE_FIGURE:
        walk_figure(walk, node);
        break;
    case NODE_SIGN:
        walk_sign(walk, node);
        break;
    case NODE_BREAK:
        walk->breaks = true;
        break;
    default:
        break; /* words and cells are set by what holds them */
    }
}

static void warn_of_unknown(struct walk *walk)
{
    struct blocks *blocks = walk->blocks;
    if (blocks->unknown == 0)
        return;
    struct text count = phrase_count(blocks->arena, blocks->unknown, "character has", "characters have");
    struct extent *extent;
    struct block *block = add_words(walk, NULL, "P", &style_small, &extent);
    block->words = text_print(blocks->arena,
                              "%.*s no letter in the font of this paper and appear as a white question mark on black; "
                              "the records have them as they were entered.",
                              TEXT_FORMAT(count));
    extent->before = extent->before > 0 ? extent->before : 5;
    double width = block->width;
    size_t lines = count_lines(blocks, &style_small, block->words, NULL, width);
    extent->lines = lines;
}

/* What stands before the first section is the head of the document, what stands after the last its foot. */
struct blocks *blocks_new(const struct document *document, struct type *type)
{
    struct blocks *blocks = memory_new(sizeof *blocks);
    blocks->arena = arena_new();
    blocks->type = type;
    struct walk walk = {.blocks = blocks, .level = 1};
    rule_above(&walk, 4, INK_INK, 0);
    const struct node *node = document->root->first;
    for (; node != NULL && node->kind != NODE_SECTION; node = node->next)
        walk_node(&walk, node);
    bool in_foot = false;
    for (; node != NULL; node = node->next) {
        bool is_foot = node->kind != NODE_SECTION && node->kind != NODE_BREAK;
        if (is_foot && !in_foot)
            rule_above(&walk, 0.75, INK_INK, 28);
        in_foot = is_foot;
        walk.left = is_foot ? 0 : TEXT_LEFT;
        walk.section = blocks->count;
        walk_node(&walk, node);
    }
    walk.left = 0;
    if (!in_foot)
        rule_above(&walk, 0.75, INK_INK, 28);
    warn_of_unknown(&walk);
    return blocks;
}

void blocks_free(struct blocks *blocks)
{
    if (blocks == NULL)
        return;
    arena_free(blocks->arena);
    memory_free(blocks->blocks);
    memory_free(blocks->extents);
    memory_free(blocks->targets);
    memory_free(blocks);
}

const struct target *blocks_target(const struct blocks *blocks, struct text id)
{
    for (size_t i = 0; i < blocks->target_count; i++)
        if (text_equal(blocks->targets[i].id, id))
            return &blocks->targets[i];
    return NULL;
}
