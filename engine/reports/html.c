/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/html.h"

#include <ctype.h>

#include "reports/markup.h"
#include "reports/pictures/svg.h"
#include <string.h>

static void write_node(const struct node *node, int level, struct output *output);

/* Text in a quoted string of the style sheet. */
static void escaped_for_style(struct output *output, struct text text)
{
    for (size_t i = 0; i < text.size; i++) {
        unsigned char c = (unsigned char)text.data[i];
        if (isalnum(c) || c == ' ' || c >= 0x80)
            output_bytes(output, &text.data[i], 1);
        else
            output_print(output, "\\%06x ", c); /* the blank ends the number */
    }
}

/* ` id="…"`, if there is one. */
static void put_id(struct output *output, const struct node *node)
{
    if (node->id.size == 0)
        return;
    markup_put(output, " id=\"");
    markup_text(output, node->id);
    markup_put(output, "\"");
}

/* Lines to write on that follow each other, as one block; returns the last of them. */
static const struct node *write_signs(const struct node *sign, struct output *output)
{
    markup_put(output, "<div class=signs>");
    for (;; sign = sign->next) {
        markup_put(output, sign->style == SIGN_WIDE ? "<p class=wide>" : "<p>");
        markup_text(output, sign->text);
        markup_put(output, "</p>");
        if (sign->next == NULL || sign->next->kind != NODE_SIGN)
            break;
    }
    markup_put(output, "</div>\n");
    return sign;
}

static void write_siblings(const struct node *node, int level, struct output *output)
{
    for (; node != NULL; node = node->next) {
        if (node->kind == NODE_SIGN)
            node = write_signs(node, output);
        else
            write_node(node, level, output);
    }
}

static void write_children(const struct node *node, int level, struct output *output)
{
    write_siblings(node->first, level, output);
}

/* Letters of a path that mean something in an address are written as their numbers. */
static void write_path(struct output *output, struct text path)
{
    for (size_t i = 0; i < path.size; i++) {
        unsigned char c = (unsigned char)path.data[i];
        if (isalnum(c) || strchr("/._-", c))
            output_bytes(output, &path.data[i], 1);
        else
            output_print(output, "%%%02X", c);
    }
}

static void write_link(const struct node *link, struct output *output)
{
    markup_put(output, link->style == LINK_INSIDE ? "<a href=\"#" : "<a href=\"");
    if (link->style == LINK_INSIDE)
        markup_text(output, link->id);
    else
        write_path(output, link->id);
    markup_put(output, "\">");
    markup_text(output, link->text);
    markup_put(output, "</a>");
}

static void write_section(const struct node *section, int level, struct output *output)
{
    static const char *const classes[] = {"", " class=part", "", " class=sheet"};
    const char *tag = section->folded ? "details" : section->style == SECTION_ENTRY ? "article" : "section";
    output_print(output, "<%s%s", tag, classes[section->style]);
    put_id(output, section);
    markup_put(output, ">\n");
    const struct node *child = section->first;
    if (section->folded && child != NULL) {
        markup_put(output, "<summary>");
        write_node(child, level + 1, output);
        markup_put(output, "</summary>\n<div>\n");
        child = child->next;
    }
    write_siblings(child, level + 1, output);
    output_print(output, section->folded ? "</div></%s>\n" : "</%s>\n", tag);
}

static void write_paragraph(const struct node *paragraph, int level, struct output *output)
{
    static const char *const classes[] = {"",          " class=verdict", " class=lead", " class=above", " class=small",
                                          " class=do", " class=caution"};
    output_print(output, "<p%s>", classes[paragraph->style]);
    write_children(paragraph, level, output);
    markup_put(output, "</p>\n");
}

/* Closing tags of cells and rows may be left out in HTML; in tables of thousands of results it is a third of the size.
 */
static void write_row(const struct node *row, const struct node *table, int level, struct output *output)
{
    const struct table_column *column = table->columns;
    markup_put(output, "<tr>");
    for (const struct node *cell = row->first; cell != NULL; cell = cell->next, column++) {
        bool is_none = table->stacks && text_is(cell->text, "–"); /* below each other such cells would only be long */
        markup_put(output, column->is_head                ? "<th scope=row"
                           : column->is_number && is_none ? "<td class=\"n none\""
                           : column->is_number            ? "<td class=n"
                                                          : "<td");
        if (column->is_word)
            markup_put(output, " class=word");
        if (table->stacks && !column->is_head) {
            markup_put(output, " data-title=\"");
            markup_text(output, text_of(column->title));
            markup_put(output, "\"");
        }
        markup_put(output, ">");
        markup_text(output, cell->text);
        write_children(cell, level, output);
    }
    markup_put(output, "\n");
}

static bool is_sheet(const struct node *table)
{
    return table->parent->kind == NODE_SECTION && table->parent->style == SECTION_SHEET;
}

/* A folded table's caption is said by its summary; it stays the table's name for readers by ear. */
static void write_caption(const struct node *table, struct output *output)
{
    if (table->folded) {
        markup_put(output, "<details><summary>");
        markup_text(output, table->text);
        markup_put(output, "</summary>\n");
    }
    markup_put(output, table->stacks ? "<table class=stacks>" : "<table>");
    markup_put(output, table->folded || is_sheet(table) ? "<caption class=heard>" : "<caption>");
    markup_text(output, table->text);
    markup_put(output, "</caption>");
}

/* On paper heads come again on each page, captions do not: what a page is about must not be lost on the second. */
static void write_sheet_name(const struct node *table, struct output *output)
{
    markup_put(output, "<colgroup>");
    for (size_t i = 0; i < table->column_count; i++)
        markup_put(output, table->columns[i].is_wide ? "<col class=wide>" : "<col>");
    output_print(output, "<thead><tr><td colspan=%zu>", table->column_count);
    markup_text(output, table->text);
}

static void write_table(const struct node *table, int level, struct output *output)
{
    write_caption(table, output);
    if (is_sheet(table))
        write_sheet_name(table, output);
    markup_put(output, is_sheet(table) ? "<tr>" : "<thead><tr>");
    for (size_t i = 0; i < table->column_count; i++) {
        markup_put(output, table->columns[i].is_number ? "<th scope=col class=n>" : "<th scope=col>");
        markup_text(output, text_of(table->columns[i].title));
    }
    markup_put(output, "<tbody>\n");
    for (const struct node *row = table->first; row != NULL; row = row->next)
        write_row(row, table, level, output);
    markup_put(output, table->folded ? "</table></details>\n" : "</table>\n");
}

static void write_tick(const struct node *tick, struct output *output)
{
    static const char box[] = "<span class=tick></span>";
    if (tick->text.size == 0) {
        markup_put(output, box);
        return;
    }
    output_print(output, "<span class=choice>%s", box);
    markup_text(output, tick->text);
    markup_put(output, "</span> ");
}

static void write_mark(const struct node *mark, struct output *output)
{
    output_print(output, "<span class=mark><svg aria-hidden=true><use href=\"#mark%d\"/></svg>", mark->style);
    markup_text(output, mark->text);
    markup_put(output, "</span>");
}

/* The caption is the picture's title, which the picture names itself by for readers by ear. */
static void write_figure(const struct node *figure, struct output *output)
{
    markup_put(output, "<figure>\n<figcaption aria-hidden=true>");
    markup_text(output, figure->drawing->title);
    markup_put(output, "</figcaption>\n");
    svg_inline(figure->drawing, (unsigned)figure->style, output);
    markup_put(output, "</figure>\n");
}

static void write_around(const struct node *node, const char *tag, int level, struct output *output)
{
    output_print(output, "<%s>", tag);
    write_children(node, level, output);
    output_print(output, "</%s>\n", tag);
}

static void write_heading(const struct node *heading, int level, struct output *output)
{
    const char tag[] = {'h', (char)('0' + (level < 6 ? level : 6)), '\0'};
    write_around(heading, tag, level, output);
}

static void write_node(const struct node *node, int level, struct output *output)
{
    switch (node->kind) {
    case NODE_SECTION:
        write_section(node, level, output);
        break;
    case NODE_HEADING:
        write_heading(node, level, output);
        break;
    case NODE_PARAGRAPH:
        write_paragraph(node, level, output);
        break;
    case NODE_LIST:
        write_around(node, "ol", level, output);
        break;
    case NODE_ITEM:
        write_around(node, "li", level, output);
        break;
    case NODE_MARGIN:
        markup_put(output, "<p class=margin>");
        write_children(node, level, output);
        markup_put(output, "</p>\n");
        break;
    case NODE_TABLE:
        write_table(node, level, output);
        break;
    case NODE_TEXT:
        markup_text(output, node->text);
        break;
    case NODE_STRONG:
        markup_put(output, "<strong>");
        markup_text(output, node->text);
        markup_put(output, "</strong>");
        break;
    case NODE_LINK:
        write_link(node, output);
        break;
    case NODE_TICK:
        write_tick(node, output);
        break;
    case NODE_FIGURE:
        write_figure(node, output);
        break;
    case NODE_BREAK:
        markup_put(output, "<div class=break></div>\n");
        break;
    case NODE_MARK:
        write_mark(node, output);
        break;
    case NODE_PAGE:
    case NODE_ROW:
    case NODE_CELL:
    case NODE_SIGN:
        break; /* written by what holds them */
    }
}

/* Four shapes, one a severity, that differ in outline and in how much ink they take: they read in grey, in any colour
 * vision, and in one colour of print. */
static const char marks[] = "<svg class=marks aria-hidden=true>"
                            "<symbol id=mark0 viewBox=\"0 0 12 12\"><path d=\"M6 0l6 6-6 6-6-6z\"/></symbol>"
                            "<symbol id=mark1 viewBox=\"0 0 12 12\"><path d=\"M1 1h10v10H1zM2.5 2.5V6h7V2.5z\" "
                            "fill-rule=evenodd /></symbol>"
                            "<symbol id=mark2 viewBox=\"0 0 12 12\"><circle cx=6 cy=6 r=4.6 fill=none "
                            "stroke=currentColor stroke-width=1.6 /></symbol>"
                            "<symbol id=mark3 viewBox=\"0 0 12 12\"><path d=\"M1 5h10v2H1z\"/></symbol></svg>\n";

static void write_head(const struct document *document, struct output *output)
{
    markup_put(output,
               "<!DOCTYPE html>\n<html lang=en>\n<head>\n<meta charset=utf-8>\n"
               "<meta name=viewport content=\"width=device-width, initial-scale=1\">\n"
               "<meta name=color-scheme content=\"light dark\">\n"
               "<meta http-equiv=Content-Security-Policy content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
               "<title>");
    markup_text(output, document->title);
    markup_put(output, "</title>\n<style>\n");
    for (const char *const *line = html_style; *line != NULL; line++)
        output_print(output, "%s\n", *line);
    markup_put(output, "@page { @bottom-left { content: \"");
    escaped_for_style(output, document->title);
    markup_put(output, "\" } }\n</style>\n</head>\n");
}

static void write_contents(const struct node *first, struct output *output)
{
    markup_put(output, "<nav aria-label=Contents><ul>\n");
    for (const struct node *section = first; section != NULL; section = section->next) {
        if (section->kind != NODE_SECTION || section->first == NULL || section->id.size == 0)
            continue;
        markup_put(output, "<li><a href=\"#");
        markup_text(output, section->id);
        markup_put(output, "\">");
        write_children(section->first, 2, output);
        markup_put(output, "</a></li>\n");
    }
    markup_put(output, "</ul></nav>\n");
}

/* What stands before the first section is the page's head, what stands after the last its foot. */
void html_write(const struct document *document, struct output *output)
{
    write_head(document, output);
    markup_put(output, "<body>\n<a class=skip href=\"#content\">Skip to the report</a>\n");
    markup_put(output, marks);
    markup_put(output, "<header>\n");
    const struct node *node = document->root->first;
    for (; node != NULL && node->kind != NODE_SECTION; node = node->next)
        write_node(node, 1, output);
    markup_put(output, "</header>\n");
    write_contents(node, output);
    markup_put(output, "<main id=content>\n");
    for (; node != NULL && node->kind == NODE_SECTION; node = node->next)
        write_node(node, 1, output);
    markup_put(output, node != NULL ? "</main>\n<footer>\n" : "</main>\n");
    for (const struct node *foot = node; foot != NULL; foot = foot->next)
        write_node(foot, 1, output);
    markup_put(output, node != NULL ? "</footer>\n</body>\n</html>\n" : "</body>\n</html>\n");
}
