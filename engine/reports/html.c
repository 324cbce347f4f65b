/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/html.h"

#include <ctype.h>
#include <string.h>

static void write_node(const struct node *node, int level, struct output *output);

/* Text between tags and in quoted attributes. Controls that HTML does not allow are shown as the replacement character.
 */
static void escaped(struct output *output, struct text text)
{
    size_t from = 0;
    for (size_t i = 0; i < text.size; i++) {
        unsigned char c = (unsigned char)text.data[i];
        const char *instead = NULL;
        switch (c) {
        case '&':
            instead = "&amp;";
            break;
        case '<':
            instead = "&lt;";
            break;
        case '>':
            instead = "&gt;";
            break;
        case '"':
            instead = "&quot;";
            break;
        case '\'':
            instead = "&#39;";
            break;
        case '\t':
        case '\n':
        case '\r':
            break;
        default:
            instead = c < ' ' || c == 0x7f ? "\xef\xbf\xbd" : NULL;
        }
        if (instead == NULL)
            continue;
        output_bytes(output, text.data + from, i - from);
        output_text(output, text_of(instead));
        from = i + 1;
    }
    output_bytes(output, text.data + from, text.size - from);
}

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

static void put(struct output *output, const char *markup) { output_text(output, text_of(markup)); }

/* ` id="…"`, if there is one. */
static void put_id(struct output *output, const struct node *node)
{
    if (node->id.size == 0)
        return;
    put(output, " id=\"");
    escaped(output, node->id);
    put(output, "\"");
}

static void write_children(const struct node *node, int level, struct output *output)
{
    for (const struct node *child = node->first; child != NULL; child = child->next)
        write_node(child, level, output);
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
    put(output, link->style == LINK_INSIDE ? "<a href=\"#" : "<a href=\"");
    if (link->style == LINK_INSIDE)
        escaped(output, link->id);
    else
        write_path(output, link->id);
    put(output, "\">");
    escaped(output, link->text);
    put(output, "</a>");
}

static void write_section(const struct node *section, int level, struct output *output)
{
    static const char *const classes[] = {"", " class=part", ""};
    const char *tag = section->folded ? "details" : section->style == SECTION_ENTRY ? "article" : "section";
    output_print(output, "<%s%s", tag, classes[section->style]);
    put_id(output, section);
    put(output, ">\n");
    const struct node *child = section->first;
    if (section->folded && child != NULL) {
        put(output, "<summary>");
        write_node(child, level + 1, output);
        put(output, "</summary>\n<div>\n");
        child = child->next;
    }
    for (; child != NULL; child = child->next)
        write_node(child, level + 1, output);
    output_print(output, section->folded ? "</div></%s>\n" : "</%s>\n", tag);
}

static void write_paragraph(const struct node *paragraph, int level, struct output *output)
{
    static const char *const classes[] = {"",          " class=verdict", " class=lead", " class=above", " class=small",
                                          " class=do", " class=caution"};
    output_print(output, "<p%s>", classes[paragraph->style]);
    write_children(paragraph, level, output);
    put(output, "</p>\n");
}

/* Closing tags of cells and rows may be left out in HTML; in tables of thousands of results it is a third of the size.
 */
static void write_row(const struct node *row, const struct node *table, int level, struct output *output)
{
    const struct table_column *column = table->columns;
    put(output, "<tr>");
    for (const struct node *cell = row->first; cell != NULL; cell = cell->next, column++) {
        put(output, column->is_head ? "<th scope=row" : column->is_number ? "<td class=n" : "<td");
        if (table->stacks && !column->is_head) {
            put(output, " data-title=\"");
            escaped(output, text_of(column->title));
            put(output, "\"");
        }
        put(output, ">");
        escaped(output, cell->text);
        write_children(cell, level, output);
    }
    put(output, "\n");
}

/* A folded table's caption is said by its summary; it stays the table's name for readers by ear. */
static void write_caption(const struct node *table, struct output *output)
{
    if (table->folded) {
        put(output, "<details><summary>");
        escaped(output, table->text);
        put(output, "</summary>\n");
    }
    put(output, table->stacks ? "<table class=stacks>" : "<table>");
    put(output, table->folded ? "<caption class=heard>" : "<caption>");
    escaped(output, table->text);
    put(output, "</caption>");
}

static void write_table(const struct node *table, int level, struct output *output)
{
    write_caption(table, output);
    put(output, "<thead><tr>");
    for (size_t i = 0; i < table->column_count; i++) {
        put(output, table->columns[i].is_number ? "<th scope=col class=n>" : "<th scope=col>");
        escaped(output, text_of(table->columns[i].title));
    }
    put(output, "<tbody>\n");
    for (const struct node *row = table->first; row != NULL; row = row->next)
        write_row(row, table, level, output);
    put(output, table->folded ? "</table></details>\n" : "</table>\n");
}

static void write_mark(const struct node *mark, struct output *output)
{
    output_print(output, "<span class=mark><svg aria-hidden=true><use href=\"#mark%d\"/></svg>", mark->style);
    escaped(output, mark->text);
    put(output, "</span>");
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
        put(output, "<p class=margin>");
        write_children(node, level, output);
        put(output, "</p>\n");
        break;
    case NODE_TABLE:
        write_table(node, level, output);
        break;
    case NODE_TEXT:
        escaped(output, node->text);
        break;
    case NODE_STRONG:
        put(output, "<strong>");
        escaped(output, node->text);
        put(output, "</strong>");
        break;
    case NODE_LINK:
        write_link(node, output);
        break;
    case NODE_TICK:
        put(output, "<span class=tick></span>");
        break;
    case NODE_SIGN:
        put(output, "<p class=sign>");
        escaped(output, node->text);
        put(output, "</p>\n");
        break;
    case NODE_BREAK:
        put(output, "<div class=break></div>\n");
        break;
    case NODE_MARK:
        write_mark(node, output);
        break;
    case NODE_PAGE:
    case NODE_ROW:
    case NODE_CELL:
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
    put(output, "<!DOCTYPE html>\n<html lang=en>\n<head>\n<meta charset=utf-8>\n"
                "<meta name=viewport content=\"width=device-width, initial-scale=1\">\n"
                "<meta name=color-scheme content=\"light dark\">\n"
                "<meta http-equiv=Content-Security-Policy content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
                "<title>");
    escaped(output, document->title);
    put(output, "</title>\n<style>\n");
    for (const char *const *line = html_style; *line != NULL; line++)
        output_print(output, "%s\n", *line);
    put(output, "@page { @bottom-left { content: \"");
    escaped_for_style(output, document->title);
    put(output, "\" } }\n</style>\n</head>\n");
}

static void write_contents(const struct node *first, struct output *output)
{
    put(output, "<nav aria-label=Contents><ul>\n");
    for (const struct node *section = first; section != NULL; section = section->next) {
        if (section->kind != NODE_SECTION || section->first == NULL || section->id.size == 0)
            continue;
        put(output, "<li><a href=\"#");
        escaped(output, section->id);
        put(output, "\">");
        write_children(section->first, 2, output);
        put(output, "</a></li>\n");
    }
    put(output, "</ul></nav>\n");
}

/* What stands before the first section is the page's head, what stands after the last its foot. */
void html_write(const struct document *document, struct output *output)
{
    write_head(document, output);
    put(output, "<body>\n<a class=skip href=\"#content\">Skip to the report</a>\n");
    put(output, marks);
    put(output, "<header>\n");
    const struct node *node = document->root->first;
    for (; node != NULL && node->kind != NODE_SECTION; node = node->next)
        write_node(node, 1, output);
    put(output, "</header>\n");
    write_contents(node, output);
    put(output, "<main id=content>\n");
    for (; node != NULL && node->kind == NODE_SECTION; node = node->next)
        write_node(node, 1, output);
    put(output, "</main>\n<footer>\n");
    for (; node != NULL; node = node->next)
        write_node(node, 1, output);
    put(output, "</footer>\n</body>\n</html>\n");
}
