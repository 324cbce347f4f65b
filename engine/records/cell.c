/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "records/cell.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"

enum { ID_LONGEST = 64, RESULT_LONGEST = 200, TEXT_LONGEST = 4000 };

/* ---- parsing: each takes a trimmed text that is not empty, and gives the reason why it is none, or NULL ---- */

static const char *check_id(struct text text)
{
    size_t count = 0;
    for (size_t at = 0; at < text.size; count++) {
        unsigned char c = (unsigned char)text.data[at];
        size_t size = 1;
        uint32_t character = c;
        if (c >= 0x80 && !utf8_first((struct text){text.data + at, text.size - at}, &character, &size))
            return "is no valid UTF-8";
        if (c >= 0x80 ? !utf8_leaves_mark(character) : (c < 0x20 || c == 0x7F))
            return "holds a character that does not print";
        at += size;
    }
    return count > ID_LONGEST ? "longer than 64 characters" : NULL;
}

static const char *check_text(struct text text)
{
    return text.size > TEXT_LONGEST && utf8_count(text) > TEXT_LONGEST ? "longer than 4,000 characters" : NULL;
}

static const char *parse_date(struct text text, int64_t *out)
{
    day_number day;
    const char *why = NULL;
    if (!day_parse(text, &day, &why))
        return why;
    *out = day;
    return NULL;
}

static const char *parse_time(struct text text, int64_t *out)
{
    const char *why = NULL;
    return moment_parse(text, out, &why) ? NULL : why;
}

#define WHOLE_MOST 999999999999999 /* no counter gets there, and differences stay far from the end of 64 bits */

static const char *parse_whole(struct text text, int64_t *out)
{
    bool negative = text.data[0] == '-';
    size_t at = negative || text.data[0] == '+';
    if (at == text.size)
        return "expected a whole number";
    int64_t number = 0;
    for (; at < text.size; at++) {
        unsigned digit = (unsigned)(unsigned char)text.data[at] - '0';
        if (digit > 9)
            return "expected a whole number";
        number = number * 10 + digit;
        if (number > WHOLE_MOST)
            return "a whole number of more than 15 digits";
    }
    *out = negative ? -number : number;
    return NULL;
}

static const char *parse_yes_no(struct text text, int64_t *out)
{
    static const char *const words[] = {"no", "yes", "n", "y", "false", "true", "0", "1"}; /* no even, yes odd */
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (text_same(text, text_of(words[i]))) {
            *out = i % 2;
            return NULL;
        }
    }
    return "expected yes or no";
}

static const char *parse_word(const char *const *words, struct text text, int64_t *out)
{
    for (int i = 0; words[i] != NULL; i++) {
        if (text_is(text, words[i])) {
            *out = i;
            return NULL;
        }
    }
    return "none of the words of this column";
}

static const char *reason_against(const struct column *column, struct text text, int64_t *whole)
{
    switch (column->type) {
    case CELL_ID:
        return check_id(text);
    case CELL_DATE:
        return parse_date(text, whole);
    case CELL_TIME:
        return parse_time(text, whole);
    case CELL_NUMBER:
        return decimal_valid(text) ? NULL : "expected a number";
    case CELL_WHOLE:
        return parse_whole(text, whole);
    case CELL_YES_NO:
        return parse_yes_no(text, whole);
    case CELL_WORD:
        return parse_word(column->words, text, whole);
    case CELL_TEXT:
        return check_text(text);
    case CELL_RESULT: /* what is no number is a word, and words are judged by rules */
        return utf8_count(text) > RESULT_LONGEST ? "longer than 200 characters" : NULL;
    case CELL_WORDS:
        return NULL;
    }
    return NULL;
}

bool cell_takes_any(enum cell_type type)
{
    return type == CELL_ID || type == CELL_RESULT || type == CELL_WORDS || type == CELL_TEXT;
}

bool cell_parse(const struct column *column, struct text text, struct cell *out, const char **why)
{
    *out = (struct cell){.present = true, .text = text};
    *why = reason_against(column, text, &out->whole);
    return *why == NULL;
}

/* ---- lists of words ---- */

bool cell_next_word(struct text *list, struct text *word)
{
    while (list->size > 0) {
        const char *divider = memchr(list->data, ';', list->size);
        size_t size = divider != NULL ? (size_t)(divider - list->data) : list->size;
        size_t taken = divider != NULL ? size + 1 : size;
        *word = text_trim((struct text){list->data, size});
        *list = (struct text){list->data + taken, list->size - taken};
        if (word->size > 0)
            return true;
    }
    return false;
}

bool cell_unknown_word(const struct column *column, struct text *list, struct text *word)
{
    int64_t place;
    while (cell_next_word(list, word))
        if (parse_word(column->words, *word, &place) != NULL)
            return true;
    return false;
}

static bool equal_words(struct text a, struct text b)
{
    struct text left, right;
    for (;;) {
        bool has_left = cell_next_word(&a, &left), has_right = cell_next_word(&b, &right);
        if (!has_left || !has_right)
            return has_left == has_right;
        if (!text_equal(left, right))
            return false;
    }
}

/* ---- results ---- */

/* The kind of a result, and in *text the numeral without its sign, or the word. */
static enum result_kind split_result(struct text *text)
{
    if (text->size == 0)
        return RESULT_WORD;
    if (decimal_valid(*text))
        return RESULT_NUMBER;
    if (text->size < 2 || (text->data[0] != '<' && text->data[0] != '>'))
        return RESULT_WORD;
    struct text rest = {text->data + 1, text->size - 1};
    if (!decimal_valid(rest))
        return RESULT_WORD;
    enum result_kind kind = text->data[0] == '<' ? RESULT_BELOW : RESULT_ABOVE;
    *text = rest;
    return kind;
}

struct result result_of(struct text text)
{
    struct result result = {.kind = split_result(&text), .text = text};
    if (result.kind != RESULT_WORD)
        result.number = decimal_double(text);
    return result;
}

static bool equal_results(struct text a, struct text b)
{
    enum result_kind kind = split_result(&a);
    if (kind != split_result(&b))
        return false;
    return kind == RESULT_WORD ? text_equal(a, b) : decimal_compare(a, b) == 0;
}

/* ---- comparing ---- */

bool cell_equal(const struct column *column, const struct cell *a, const struct cell *b)
{
    if (!a->present || !b->present)
        return a->present == b->present;
    switch (column->type) {
    case CELL_TIME:
        return moment_seconds(a->whole) == moment_seconds(b->whole);
    case CELL_DATE:
    case CELL_WHOLE:
    case CELL_YES_NO:
    case CELL_WORD:
        return a->whole == b->whole;
    case CELL_NUMBER:
        return decimal_compare(a->text, b->text) == 0;
    case CELL_RESULT:
        return equal_results(a->text, b->text);
    case CELL_WORDS:
        return equal_words(a->text, b->text);
    case CELL_ID:
    case CELL_TEXT:
        break;
    }
    return text_equal(a->text, b->text);
}

/* ---- canonical bytes ---- */

enum { CELL_DIVIDER = 0x1F, ESCAPE = 0x1E };

/* The text with the two bytes that have a meaning here escaped, so that no text can look like two cells. */
static size_t write_text(struct text text, char *out)
{
    size_t size = 0;
    for (size_t i = 0; i < text.size; i++) {
        char c = text.data[i];
        bool escaped = c == CELL_DIVIDER || c == ESCAPE;
        if (escaped)
            out[size++] = ESCAPE;
        out[size++] = escaped ? (char)(c + '0') : c;
    }
    return size;
}

static size_t write_words(struct text list, char *out)
{
    struct text word;
    size_t size = 0;
    while (cell_next_word(&list, &word)) {
        size += write_text(word, out + size);
        out[size++] = ';';
    }
    if (size == 0)
        out[size++] = ';'; /* an empty list is no absent cell */
    return size;
}

static size_t write_result(struct text text, char *out)
{
    enum result_kind kind = split_result(&text);
    size_t size = 0;
    if (kind == RESULT_WORD)
        return write_text(text, out);
    if (kind != RESULT_NUMBER)
        out[size++] = kind == RESULT_BELOW ? '<' : '>';
    return size + decimal_canonical(text, out + size);
}

static size_t write_time(moment at, char *out)
{
    char printed[MOMENT_TEXT_SIZE];
    moment_print(moment_make(moment_seconds(at), true), printed);
    memcpy(out, printed, MOMENT_TEXT_SIZE - 1);
    return MOMENT_TEXT_SIZE - 1;
}

static size_t write_value(const struct column *column, const struct cell *cell, char *out)
{
    switch (column->type) {
    case CELL_TIME:
        return write_time(cell->whole, out);
    case CELL_DATE:
        day_print((day_number)cell->whole, out);
        return DAY_TEXT_SIZE - 1;
    case CELL_WHOLE:
        return (size_t)sprintf(out, "%" PRId64, cell->whole);
    case CELL_YES_NO:
        *out = cell->whole ? '1' : '0';
        return 1;
    case CELL_WORD:
        return write_text(text_of(column->words[cell->whole]), out);
    case CELL_NUMBER:
        return decimal_canonical(cell->text, out);
    case CELL_RESULT:
        return write_result(cell->text, out);
    case CELL_WORDS:
        return write_words(cell->text, out);
    case CELL_ID: /* holds no control bytes */
        memcpy(out, cell->text.data, cell->text.size);
        return cell->text.size;
    case CELL_TEXT:
        break;
    }
    return write_text(cell->text, out);
}

size_t cell_canonical(const struct column *column, const struct cell *cell, char *out)
{
    size_t size = cell->present ? write_value(column, cell, out) : 0;
    out[size++] = CELL_DIVIDER;
    return size;
}
