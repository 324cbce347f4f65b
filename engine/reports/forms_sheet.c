/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/forms_sheet.h"

#include <string.h>

enum { FEW_WORDS = 3 }; /* so many choices fit into a cell, with a box each */

struct sheet sheet_of(struct document *document, enum kind_id kind)
{
    struct sheet sheet = {.document = document, .kind = kind_of(kind)};
    int recorded = kind_column(sheet.kind, TEXT("recorded_at"));
    if (recorded >= 0)
        sheet.left_out[recorded] = true;
    return sheet;
}

struct text column_meaning(const struct column *column, struct arena *arena)
{
    char *meaning = arena_take(arena, strlen(column->meaning) + 1), *end = meaning;
    for (const char *c = column->meaning; *c != '\0'; c++)
        if (*c != '`')
            *end++ = *c;
    struct text says = {meaning, (size_t)(end - meaning)};
    return column->unit == NULL ? says : text_print(arena, "%.*s In %s.", TEXT_FORMAT(says), column->unit);
}

struct text column_title(const struct column *column, struct arena *arena)
{
    char *title = arena_take(arena, strlen(column->name) + 3);
    strcpy(title, column->name);
    for (char *c = title; *c != '\0'; c++)
        if (*c == '_')
            *c = ' ';
    if (*title >= 'a' && *title <= 'z')
        *title = (char)(*title - 'a' + 'A');
    if (column->flags & COLUMN_REQUIRED)
        strcat(title, " *");
    return text_of(title);
}

static bool is_column(const struct sheet *sheet, size_t column)
{
    return !sheet->left_out[column] && sheet->always[column].data == NULL;
}

/* "Copy the rows into records/controls.csv. In every row: analyzer A1, method hba1c-strip." */
static struct text where_it_goes(const struct sheet *sheet, struct arena *arena)
{
    struct text says = text_print(arena, "Copy the rows into records/%s.csv.", sheet->kind->name);
    const char *before = " In every row: ";
    for (size_t i = 0; i < sheet->kind->column_count; i++) {
        if (sheet->always[i].data == NULL)
            continue;
        says = text_print(arena, "%.*s%s%s %.*s", TEXT_FORMAT(says), before, sheet->kind->columns[i].name,
                          TEXT_FORMAT(sheet->always[i]));
        before = ", ";
    }
    return *before == ',' ? text_print(arena, "%.*s.", TEXT_FORMAT(says)) : says;
}

static size_t count_words(const struct column *column)
{
    size_t count = 0;
    while (column->words != NULL && column->words[count] != NULL)
        count++;
    return count;
}

/* "Techniques: observation, blind-sample, …" for the columns whose words do not fit into the cells. */
static void say_words(const struct sheet *sheet)
{
    struct arena *arena = sheet->document->arena;
    for (size_t i = 0; i < sheet->kind->column_count; i++) {
        const struct column *column = &sheet->kind->columns[i];
        size_t count = count_words(column);
        if (!is_column(sheet, i) || count <= FEW_WORDS)
            continue;
        struct text says = column_title(column, arena);
        for (size_t w = 0; w < count; w++)
            says = text_print(arena, "%.*s%s %s", TEXT_FORMAT(says), w == 0 ? ":" : ",", column->words[w]);
        document_say(sheet->document, ROLE_SMALL, says);
    }
}

/* A day that is filled in and the time behind it, more than yes and no to tick, and words. */
static bool needs_room(const struct column *column)
{
    return (column->type == CELL_TIME && column->flags & COLUMN_EVENT) || column->type == CELL_TEXT ||
           column->type == CELL_WORDS || count_words(column) == FEW_WORDS;
}

void sheet_begin(struct sheet *sheet, struct text id, struct text heading, struct text whose, struct text about)
{
    struct document *document = sheet->document;
    struct arena *arena = document->arena;
    document_section(document, id, SECTION_SHEET);
    document_heading(document, heading);
    document_say(document, ROLE_PLAIN, text_print(arena, "%.*s. %.*s", TEXT_FORMAT(whose), TEXT_FORMAT(about)));
    document_say(document, ROLE_SMALL, where_it_goes(sheet, arena));
    say_words(sheet);
    struct table_column *columns = arena_take(arena, sheet->kind->column_count * sizeof *columns);
    size_t count = 0;
    for (size_t i = 0; i < sheet->kind->column_count; i++)
        if (is_column(sheet, i)) {
            const struct column *column = &sheet->kind->columns[i];
            columns[count++] =
                (struct table_column){.title = column_title(column, arena).data, .is_wide = needs_room(column)};
        }
    document_table(document, text_print(arena, "%.*s, %.*s", TEXT_FORMAT(heading), TEXT_FORMAT(whose)), columns, count)
        ->stacks = true;
}

static void put_choices(struct document *document, const char *const *words)
{
    for (; *words != NULL; words++)
        document_choice(document, text_of(*words));
}

static void put_cell(struct sheet *sheet, size_t column)
{
    static const char *const yes_no[] = {"yes", "no", NULL};
    const struct column *of = &sheet->kind->columns[column];
    document_open(sheet->document, NODE_CELL, 0);
    if (sheet->row[column].data != NULL)
        document_text(sheet->document, sheet->row[column]);
    else if (of->type == CELL_YES_NO)
        put_choices(sheet->document, yes_no);
    else if (of->type == CELL_WORD && count_words(of) <= FEW_WORDS)
        put_choices(sheet->document, of->words);
    document_close(sheet->document);
}

void sheet_row(struct sheet *sheet)
{
    document_row(sheet->document);
    for (size_t i = 0; i < sheet->kind->column_count; i++)
        if (is_column(sheet, i))
            put_cell(sheet, i);
    document_close(sheet->document);
    memset(sheet->row, 0, sizeof sheet->row);
}

void sheet_rows(struct sheet *sheet, size_t count)
{
    while (count-- > 0)
        sheet_row(sheet);
}

void sheet_end(struct sheet *sheet)
{
    document_close(sheet->document);
    document_sign(sheet->document, SIGN_SHORT, TEXT("Looked through by"));
    document_sign(sheet->document, SIGN_SHORT, TEXT("On"));
    document_close(sheet->document);
}
