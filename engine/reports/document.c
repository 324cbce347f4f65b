/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/document.h"

struct document *document_new(struct text title)
{
    struct document *document = memory_new(sizeof *document);
    document->arena = arena_new();
    document->title = title;
    document->root = document_open(document, NODE_PAGE, 0);
    return document;
}

void document_free(struct document *document)
{
    if (document == NULL)
        return;
    arena_free(document->arena);
    memory_free(document);
}

struct node *document_open(struct document *document, enum node_kind kind, int style)
{
    struct node *node = arena_take(document->arena, sizeof *node), *parent = document->open;
    *node = (struct node){.kind = kind, .style = style, .parent = parent};
    if (parent != NULL && parent->last != NULL)
        parent->last->next = node;
    else if (parent != NULL)
        parent->first = node;
    if (parent != NULL)
        parent->last = node;
    document->open = node;
    return node;
}

void document_close(struct document *document) { document->open = document->open->parent; }

/* A node without children. */
static void add(struct document *document, enum node_kind kind, int style, struct text text, struct text id)
{
    struct node *node = document_open(document, kind, style);
    node->text = text;
    node->id = id;
    document_close(document);
}

struct node *document_section(struct document *document, struct text id, enum section_style style)
{
    struct node *section = document_open(document, NODE_SECTION, (int)style);
    section->id = id;
    return section;
}

void document_heading(struct document *document, struct text text)
{
    document_open(document, NODE_HEADING, 0);
    document_text(document, text);
    document_close(document);
}

void document_say(struct document *document, enum role role, struct text text)
{
    document_open(document, NODE_PARAGRAPH, (int)role);
    document_text(document, text);
    document_close(document);
}

void document_text(struct document *document, struct text text)
{
    add(document, NODE_TEXT, 0, text, (struct text){NULL, 0});
}

void document_strong(struct document *document, struct text text)
{
    add(document, NODE_STRONG, 0, text, (struct text){NULL, 0});
}

void document_link(struct document *document, struct text text, struct text id)
{
    add(document, NODE_LINK, 0, text, id);
}

void document_file_link(struct document *document, struct text text, struct text path)
{
    add(document, NODE_LINK, LINK_FILE, text, path);
}

void document_tick(struct document *document)
{
    add(document, NODE_TICK, 0, (struct text){NULL, 0}, (struct text){NULL, 0});
}

void document_choice(struct document *document, struct text text)
{
    add(document, NODE_TICK, 0, text, (struct text){NULL, 0});
}

void document_sign(struct document *document, enum sign_style style, struct text text)
{
    add(document, NODE_SIGN, (int)style, text, (struct text){NULL, 0});
}

void document_break(struct document *document)
{
    add(document, NODE_BREAK, 0, (struct text){NULL, 0}, (struct text){NULL, 0});
}

void document_mark(struct document *document, enum severity severity)
{
    add(document, NODE_MARK, (int)severity, text_of(severity_name(severity)), (struct text){NULL, 0});
}

struct node *document_table(struct document *document, struct text caption, const struct table_column *columns,
                            size_t count)
{
    struct node *table = document_open(document, NODE_TABLE, 0);
    table->text = caption;
    table->columns = columns;
    table->column_count = count;
    return table;
}

void document_row(struct document *document) { document_open(document, NODE_ROW, 0); }

void document_cell(struct document *document, struct text text)
{
    add(document, NODE_CELL, 0, text, (struct text){NULL, 0});
}

void document_figure(struct document *document, const struct drawing *drawing)
{
    document_open(document, NODE_FIGURE, ++document->figure_count)->drawing = drawing;
    document_close(document);
}
