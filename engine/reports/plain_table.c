/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables of a terminal: columns as wide as their cells if they fit, else wrapped; and where not even the longest words
 * fit beside each other, a block of lines for each row. */
#include <string.h>

#include "base/utf8.h"
#include "reports/plain.h"

enum { GAP = 2, LONGEST_WORD = 24 /* a longer one is torn */ };

struct column_width {
    size_t line, word, given; /* the widest cell, the longest word, what it gets */
};

struct plain_table {
    const struct node *table;
    struct arena *arena;
    struct output *output;
    size_t indent, width; /* of the lines, without the indent */
    struct column_width *columns;
};

static struct text title_of(const struct plain_table *table, size_t column)
{
    return text_of(table->table->columns[column].title);
}

static size_t longest_word(struct text text)
{
    size_t longest = 0;
    while (text.size > 0) {
        const char *blank = memchr(text.data, ' ', text.size);
        size_t size = blank != NULL ? (size_t)(blank - text.data) : text.size;
        size_t letters = utf8_count((struct text){text.data, size});
        longest = letters > longest ? letters : longest;
        size += blank != NULL;
        text = (struct text){text.data + size, text.size - size};
    }
    return longest < LONGEST_WORD ? longest : LONGEST_WORD;
}

static void ask(struct column_width *column, struct text text)
{
    size_t line = utf8_count(text), word = longest_word(text);
    column->line = line > column->line ? line : column->line;
    column->word = word > column->word ? word : column->word;
}

static void ask_columns(struct plain_table *table)
{
    size_t count = table->table->column_count;
    for (size_t i = 0; i < count; i++)
        ask(&table->columns[i], title_of(table, i));
    AUTO(arena) arena = arena_new();
    for (const struct node *row = table->table->first; row != NULL; row = row->next, arena_reset(arena)) {
        size_t i = 0;
        for (const struct node *cell = row->first; cell != NULL && i < count; cell = cell->next, i++)
            ask(&table->columns[i], plain_words(arena, cell->text, cell));
    }
}

/* Whether the longest words fit beside each other. */
static bool share_width(struct plain_table *table)
{
    size_t count = table->table->column_count, words = 0, more = 0, gaps = count > 0 ? (count - 1) * GAP : 0;
    for (size_t i = 0; i < count; i++) {
        words += table->columns[i].word;
        more += table->columns[i].line - table->columns[i].word;
    }
    if (words + gaps > table->width)
        return false;
    size_t left = table->width - words - gaps;
    for (size_t i = 0; i < count; i++) {
        size_t wants = table->columns[i].line - table->columns[i].word;
        table->columns[i].given = table->columns[i].word + (more <= left ? wants : wants * left / more);
    }
    return true;
}

/* Takes the next line of at most `width` characters from `text`; a word that is longer is torn. */
static struct text next_line(struct text *text, size_t width)
{
    while (text->size > 0 && *text->data == ' ')
        *text = (struct text){text->data + 1, text->size - 1};
    struct text line = utf8_cut(*text, width);
    if (line.size < text->size && text->data[line.size] != ' ') {
        size_t end = line.size;
        while (end > 0 && line.data[end - 1] != ' ')
            end--;
        line.size = end > 0 ? end : line.size;
    }
    *text = (struct text){text->data + line.size, text->size - line.size};
    while (line.size > 0 && line.data[line.size - 1] == ' ')
        line.size--;
    return line;
}

static void put_blanks(struct output *output, size_t count) { output_print(output, "%*s", (int)count, ""); }

/* The texts of a row beside each other, over as many lines as the longest needs. No line ends with blanks. */
static void write_row(const struct plain_table *table, struct text *texts)
{
    size_t count = table->table->column_count;
    bool has_more = true;
    while (has_more) {
        size_t waiting = table->indent;
        has_more = false;
        for (size_t i = 0; i < count; i++) {
            size_t given = table->columns[i].given;
            struct text line = next_line(&texts[i], given);
            size_t blank = given - utf8_count(line);
            bool is_right = table->table->columns[i].is_number;
            if (line.size > 0) {
                put_blanks(table->output, waiting + (is_right ? blank : 0));
                output_text(table->output, line);
                waiting = is_right ? 0 : blank;
            } else {
                waiting += given;
            }
            waiting += GAP;
            has_more = has_more || text_trim(texts[i]).size > 0;
        }
        output_text(table->output, TEXT("\n"));
    }
}

static void write_head(const struct plain_table *table, struct text *texts)
{
    size_t count = table->table->column_count;
    for (size_t i = 0; i < count; i++)
        texts[i] = title_of(table, i);
    write_row(table, texts);
    put_blanks(table->output, table->indent);
    for (size_t i = 0; i < count; i++) {
        for (size_t j = 0; j < table->columns[i].given; j++)
            output_text(table->output, TEXT("-"));
        put_blanks(table->output, i + 1 < count ? GAP : 0);
    }
    output_text(table->output, TEXT("\n"));
}

/* A row as lines `Title: cell`. */
static void write_stacked(const struct plain_table *table, const struct text *texts)
{
    for (size_t i = 0; i < table->table->column_count; i++) {
        struct text title = title_of(table, i);
        struct text left = text_print(table->arena, "%.*s%s%.*s", TEXT_FORMAT(title), title.size > 0 ? ": " : "",
                                      TEXT_FORMAT(texts[i]));
        for (size_t deeper = i > 0 ? GAP : 0; left.size > 0;) {
            put_blanks(table->output, table->indent + deeper);
            output_text(table->output, next_line(&left, table->width - deeper));
            output_text(table->output, TEXT("\n"));
            deeper = (i > 0 ? 2 : 1) * GAP;
        }
    }
}

static void write_rows(const struct plain_table *table, bool beside, struct text *texts)
{
    for (const struct node *row = table->table->first; row != NULL; row = row->next, arena_reset(table->arena)) {
        size_t i = 0, count = table->table->column_count;
        for (const struct node *cell = row->first; cell != NULL && i < count; cell = cell->next)
            texts[i++] = plain_words(table->arena, cell->text, cell);
        for (; i < count; i++)
            texts[i] = (struct text){NULL, 0};
        if (beside)
            write_row(table, texts);
        else
            write_stacked(table, texts);
    }
}

void plain_table(const struct node *table, size_t indent, size_t width, struct output *output)
{
    enum { NARROWEST = 8 };
    AUTO(arena) arena = arena_new();
    struct plain_table plain = {.table = table,
                                .arena = arena,
                                .output = output,
                                .indent = indent,
                                .width = width > indent + NARROWEST ? width - indent : NARROWEST};
    plain.columns = memory_new((table->column_count + 1) * sizeof *plain.columns);
    struct text *texts = memory_new((table->column_count + 1) * sizeof *texts);
    ask_columns(&plain);
    bool beside = share_width(&plain);
    if (beside)
        write_head(&plain, texts);
    write_rows(&plain, beside, texts);
    memory_free(texts);
    memory_free(plain.columns);
}
