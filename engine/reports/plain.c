/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/plain.h"

#include "base/utf8.h"
#include "reports/wrapped.h"

struct plain {
    struct output *output;
    struct arena *arena; /* for the texts of a paragraph */
    size_t width, indent;
    int level;        /* of headings */
    bool begun;       /* something stands there already */
    bool after_title; /* a heading or another first line was last: no blank line before what follows */
};

static void write_node(struct plain *plain, const struct node *node);

/* ---- words --------------------------------------------------------------------------------------------------------
 */

static void add_words(struct output *words, const struct node *node)
{
    if (node->kind == NODE_TICK)
        output_text(words, TEXT("[ ] "));
    output_text(words, node->text);
    bool is_in_cell = node->parent->kind == NODE_CELL; /* where a path would take too much room */
    if (node->kind == NODE_LINK && node->style == LINK_FILE && !is_in_cell) {
        output_text(words, TEXT(" ("));
        output_text(words, node->id);
        output_text(words, TEXT(")"));
    }
    bool stands_alone = node->kind == NODE_MARK && node->parent->kind == NODE_MARGIN && node->next != NULL;
    output_text(words, stands_alone ? TEXT(" ") : TEXT(""));
}

struct text plain_words(struct arena *arena, struct text text, const struct node *node)
{
    AUTO(output) words = output_memory();
    output_text(words, text);
    for (const struct node *child = node ? node->first : NULL; child != NULL; child = child->next)
        add_words(words, child);
    struct text taken = output_taken(words);
    char *blanks = arena_take(arena, taken.size + 1);
    for (size_t i = 0; i < taken.size; i++)
        blanks[i] = taken.data[i] == '\n' || taken.data[i] == '\t' || taken.data[i] == '\r' ? ' ' : taken.data[i];
    return utf8_shown(arena, (struct text){blanks, taken.size});
}

static struct text blanks(struct plain *plain, size_t count) { return text_print(plain->arena, "%*s", (int)count, ""); }

static void blank_line(struct plain *plain)
{
    if (plain->begun && !plain->after_title)
        output_text(plain->output, TEXT("\n"));
    plain->after_title = false;
    plain->begun = true;
}

/* A paragraph at the indent, with `mark` before its first line. */
static void write_lines(struct plain *plain, const char *mark, struct text words)
{
    struct text indent = blanks(plain, plain->indent);
    struct text first = text_print(plain->arena, "%.*s%s", TEXT_FORMAT(indent), mark);
    wrapped_print(plain->output, plain->width, first, utf8_count(first), words);
    plain->begun = true;
    arena_reset(plain->arena);
}

/* ---- nodes --------------------------------------------------------------------------------------------------------
 */

static void write_heading(struct plain *plain, const struct node *node)
{
    struct text nothing = {NULL, 0}, words = plain_words(plain->arena, nothing, node);
    size_t letters = utf8_count(words), room = plain->width - plain->indent;
    write_lines(plain, "", words);
    if (plain->level <= 2) {
        for (size_t i = 0; i < letters && i < room; i++)
            output_text(plain->output, plain->level == 1 ? TEXT("=") : TEXT("-"));
        output_text(plain->output, TEXT("\n"));
    }
    plain->after_title = true;
}

static bool is_in_entry(const struct node *node)
{
    return node->parent->kind == NODE_ITEM ||
           (node->parent->kind == NODE_SECTION && node->parent->style == SECTION_ENTRY);
}

static void write_paragraph(struct plain *plain, const struct node *node)
{
    struct text nothing = {NULL, 0};
    if (node->style != ROLE_SMALL && !is_in_entry(node))
        blank_line(plain);
    write_lines(plain, node->style == ROLE_CAUTION ? "! " : "", plain_words(plain->arena, nothing, node));
    plain->after_title = false;
}

/* The number stands before the item's first paragraph, the others below it. */
static void write_list(struct plain *plain, const struct node *list)
{
    enum { HANGING = 4 };
    unsigned number = 0;
    struct text nothing = {NULL, 0};
    blank_line(plain);
    for (const struct node *item = list->first; item != NULL; item = item->next) {
        char mark[16];
        snprintf(mark, sizeof mark, "%2u. ", ++number);
        const struct node *child = item->first;
        if (child != NULL && child->kind == NODE_PARAGRAPH) {
            write_lines(plain, mark, plain_words(plain->arena, nothing, child));
            child = child->next;
        }
        plain->indent += HANGING;
        for (; child != NULL; child = child->next)
            write_node(plain, child);
        plain->indent -= HANGING;
    }
}

/* What a margin says stands above the heading that it is beside. */
static void write_section(struct plain *plain, const struct node *section)
{
    enum { DEEPER = 2 };
    const struct node *child = section->first;
    struct text nothing = {NULL, 0};
    bool is_deep = plain->level >= 2;
    plain->level++;
    plain->after_title = false;
    blank_line(plain);
    if (child != NULL && child->next != NULL && child->next->kind == NODE_MARGIN)
        write_lines(plain, "", plain_words(plain->arena, nothing, child->next));
    for (; child != NULL; child = child->next) {
        if (child->kind == NODE_MARGIN)
            continue;
        bool is_indented = is_deep && section->style == SECTION_ENTRY && child->kind != NODE_HEADING;
        plain->indent += is_indented ? DEEPER : 0;
        write_node(plain, child);
        plain->indent -= is_indented ? DEEPER : 0;
    }
    plain->level--;
    plain->after_title = false;
}

static void write_table(struct plain *plain, const struct node *table)
{
    blank_line(plain);
    if (table->text.size > 0)
        write_lines(plain, "", plain_words(plain->arena, table->text, NULL));
    plain_table(table, plain->indent, plain->width, plain->output);
}

static void write_figure(struct plain *plain, const struct node *figure)
{
    const struct drawing *drawing = figure->drawing;
    blank_line(plain);
    struct text said =
        text_print(plain->arena, "%.*s. %.*s", TEXT_FORMAT(drawing->title), TEXT_FORMAT(drawing->description));
    write_lines(plain, "Picture: ", plain_words(plain->arena, said, NULL));
}

static void write_sign(struct plain *plain, const struct node *sign)
{
    struct text line = text_print(plain->arena, "%.*s: ______________________________", TEXT_FORMAT(sign->text));
    write_lines(plain, "", plain_words(plain->arena, line, NULL));
}

static void write_node(struct plain *plain, const struct node *node)
{
    switch (node->kind) {
    case NODE_SECTION:
        write_section(plain, node);
        break;
    case NODE_HEADING:
        write_heading(plain, node);
        break;
    case NODE_PARAGRAPH:
        write_paragraph(plain, node);
        break;
    case NODE_LIST:
        write_list(plain, node);
        break;
    case NODE_TABLE:
        write_table(plain, node);
        break;
    case NODE_FIGURE:
        write_figure(plain, node);
        break;
    case NODE_SIGN:
        write_sign(plain, node);
        break;
    default:
        break; /* breaks of paper, and what is written by what holds it */
    }
}

void plain_write(const struct document *document, size_t width, struct output *output)
{
    enum { NARROWEST = 20 };
    AUTO(arena) arena = arena_new();
    struct plain plain = {.output = output, .arena = arena, .width = width < NARROWEST ? NARROWEST : width, .level = 1};
    for (const struct node *node = document->root->first; node != NULL; node = node->next)
        write_node(&plain, node);
}
