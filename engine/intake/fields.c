/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/fields.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "records/cell.h"

enum { MOST_WHOLE = 1000000, MOST_KEYS = 32, SHOWN_VALUE = 64 };

/* ---- messages and names ---- */

bool fields_fault(const struct fields *fields, const struct node *node, const char *key, const char *format, ...)
{
    char reason[FAULT_TEXT_SIZE];
    va_list values;
    va_start(values, format);
    vsnprintf(reason, sizeof reason, format, values);
    va_end(values);
    return fault_set(fields->fault, FAULT_SETTINGS, "%s:%u: %s%s%s", fields->shown, node->line, key,
                     *key != '\0' ? ": " : "", reason);
}

const char *fields_name(const struct fields *fields, const char *parent, struct text key)
{
    const char *dot = *parent != '\0' ? "." : "";
    return text_print(fields->arena, "%s%s%.*s", parent, dot, TEXT_FORMAT(utf8_cut(key, SHOWN_VALUE))).data;
}

struct where fields_where(const struct fields *fields, const struct node *node)
{
    return (struct where){fields->file, node->line};
}

size_t fields_count(const struct node *node)
{
    size_t count = 0;
    for (const struct node *child = node->first; child != NULL; child = child->next)
        count++;
    return count;
}

const struct node *fields_child(const struct node *map, const char *key)
{
    const struct node *child = map->first;
    while (child != NULL && !text_is(child->key, key))
        child = child->next;
    return child != NULL ? child : map;
}

/* A key with nothing behind it is an empty list or map; it is no scalar. */
bool fields_is(const struct fields *fields, const struct node *node, enum node_kind kind, const char *name)
{
    static const char *const expected[] = {"expected one value", "expected a list", "expected keys and values"};
    bool is_nothing = node->kind == NODE_SCALAR && node->is_empty;
    if (kind == NODE_SCALAR && is_nothing)
        return fields_fault(fields, node, name, "has no value; fill it in or remove the line");
    if (node->kind == kind || (is_nothing && kind != NODE_SCALAR))
        return true;
    return fields_fault(fields, node, name, "%s", expected[kind]);
}

/* Each entry costs time with every run; nobody means that many. */
bool fields_few(const struct fields *fields, const struct node *node, enum node_kind kind, const char *name)
{
    enum { ENTRIES_MOST = 300 };
    if (!fields_is(fields, node, kind, name))
        return false;
    return fields_count(node) <= ENTRIES_MOST ||
           fields_fault(fields, node, name, "has %zu entries; %d at most", fields_count(node), ENTRIES_MOST);
}

static const char *nearest_word(struct text word, const char *const *words)
{
    const char *nearest = text_nearest(word, words);
    return nearest != NULL ? nearest : "";
}

static bool unknown_word(const struct fields *fields, const struct node *node, const char *name,
                         const char *const *words)
{
    const char *nearest = nearest_word(node->text, words);
    return fields_fault(fields, node, name, "%.*s: unknown word%s%s", TEXT_FORMAT(utf8_cut(node->text, SHOWN_VALUE)),
                        *nearest ? ", the nearest known is " : "", nearest);
}

static bool is_among(struct text word, const char *const *words)
{
    for (; *words != NULL; words++)
        if (text_is(word, *words))
            return true;
    return false;
}

/* ---- single values ---- */

/* Types the value as a log's cell of that type would be. */
static bool read_cell(const struct fields *fields, const struct node *node, const char *name, enum cell_type type,
                      struct cell *out)
{
    const struct column column = {.type = type};
    struct text text = text_trim(node->text);
    const char *why = "is empty";
    if (text.size > 0 && cell_parse(&column, text, out, &why))
        return true;
    return fields_fault(fields, node, name, "%.*s%s%s", TEXT_FORMAT(utf8_cut(text, SHOWN_VALUE)),
                        text.size > 0 ? ": " : "", why);
}

static bool read_clock(const struct fields *fields, const struct node *node, const char *name, double most, int *out)
{
    char padded[20] = "2000-01-01 0";
    size_t size = node->text.size;
    moment at;
    if (size == 4 || size == 5) {
        memcpy(padded + (size == 4 ? 12 : 11), node->text.data, size);
        if (moment_parse((struct text){padded, 16}, &at, NULL)) {
            *out = (int)moment_seconds(at);
            return *out <= most || fields_fault(fields, node, name, "%.*s: must not be later than %02d:%02d",
                                                TEXT_FORMAT(node->text), (int)most / 3600, (int)most / 60 % 60);
        }
    }
    return fields_fault(fields, node, name, "%.*s: expected a time of day, HH:MM",
                        TEXT_FORMAT(utf8_cut(node->text, SHOWN_VALUE)));
}

static bool read_duty(const struct fields *fields, const struct node *node, const char *name, enum duty *out)
{
    const char *names[DUTY_COUNT + 1] = {NULL};
    for (int i = 0; i < DUTY_COUNT; i++)
        names[i] = duty_name((enum duty)i);
    return duty_named(node->text, out) || unknown_word(fields, node, name, names);
}

static bool read_choice(const struct fields *fields, const struct node *node, const char *name,
                        const char *const *words, bool *out)
{
    *out = text_is(node->text, words[1]);
    return is_among(node->text, words) || unknown_word(fields, node, name, words);
}

static bool read_number(const struct fields *fields, const struct node *node, const char *name,
                        const struct field *field, struct setting_number *out)
{
    struct cell cell = {0};
    enum field_type type = field->type;
    bool whole = type == FIELD_WHOLE || type == FIELD_COUNT;
    if (!read_cell(fields, node, name, whole ? CELL_WHOLE : CELL_NUMBER, &cell))
        return false;
    *out = (struct setting_number){.present = true, .number = decimal_double(cell.text), .text = cell.text};
    if (type == FIELD_COUNT && out->number < 1)
        return fields_fault(fields, node, name, "%.*s: must be 1 or more", TEXT_FORMAT(cell.text));
    if (type != FIELD_NUMBER && out->number < 0)
        return fields_fault(fields, node, name, "%.*s: must not be below 0", TEXT_FORMAT(cell.text));
    double most = field->most > 0 ? field->most : MOST_WHOLE;
    if ((whole || field->most > 0) && out->number > most)
        return fields_fault(fields, node, name, "%.*s: must not be above %.0f", TEXT_FORMAT(cell.text), most);
    return true;
}

static bool read_words(const struct fields *fields, const struct node *node, const char *name, enum cell_type type,
                       struct text *out)
{
    struct cell cell = {0};
    if (!read_cell(fields, node, name, type, &cell))
        return false;
    *out = cell.text;
    return true;
}

/* A reason or name of characters that nobody sees would be none, and marks that turn the direction of writing make
 * other words of what follows. Hard blanks come with pasted text, and joiners of letters stand in words of some
 * languages: they are let through. */
bool fields_shows(const struct fields *fields, const struct node *node, const char *name, struct text text)
{
    enum { HARD_BLANK = 0xA0, NON_JOINER = 0x200C, JOINER = 0x200D };
    bool can_be_read = utf8_can_be_read(text);
    while (text.size > 0) {
        uint32_t character;
        size_t size;
        bool valid = utf8_first(text, &character, &size);
        bool is_blank = character <= ' ' || character == HARD_BLANK || character == NON_JOINER || character == JOINER;
        if (valid && !is_blank && !utf8_is_printable(character))
            return fields_fault(fields, node, name, "has a character that does not show: U+%04X", (unsigned)character);
        text = (struct text){text.data + size, text.size - size};
    }
    return can_be_read || fields_fault(fields, node, name, "is empty");
}

bool fields_scalar(const struct fields *fields, const struct node *node, const char *name, const struct field *field,
                   void *out)
{
    void *value = (char *)out + field->at;
    struct cell cell = {0};
    if (!fields_is(fields, node, NODE_SCALAR, name))
        return false;
    switch (field->type) {
    case FIELD_ID:
        return read_words(fields, node, name, CELL_ID, value);
    case FIELD_TEXT:
        return read_words(fields, node, name, CELL_TEXT, value) &&
               fields_shows(fields, node, name, *(struct text *)value);
    case FIELD_DATE:
        if (!read_cell(fields, node, name, CELL_DATE, &cell))
            return false;
        *(day_number *)value = (day_number)cell.whole;
        return true;
    case FIELD_CLOCK:
        return read_clock(fields, node, name, field->most, value);
    case FIELD_YES_NO:
        if (!read_cell(fields, node, name, CELL_YES_NO, &cell))
            return false;
        *(bool *)value = cell.whole != 0;
        return true;
    case FIELD_CHOICE:
        return read_choice(fields, node, name, field->words, value);
    case FIELD_DUTY:
        return read_duty(fields, node, name, value);
    default:
        return read_number(fields, node, name, field, value);
    }
}

bool fields_range(const struct fields *fields, const struct node *node, const char *name, struct setting_number low,
                  struct setting_number high)
{
    if (!low.present || !high.present || decimal_compare(low.text, high.text) <= 0)
        return true;
    return fields_fault(fields, node, name, "low %.*s lies above high %.*s", TEXT_FORMAT(low.text),
                        TEXT_FORMAT(high.text));
}

/* ---- lists and maps ---- */

static bool read_ids(const struct fields *fields, const struct node *node, const char *name, const struct field *field,
                     void *out)
{
    if (!fields_few(fields, node, NODE_LIST, name))
        return false;
    struct text *ids = arena_take(fields->arena, fields_count(node) * sizeof *ids + 1);
    size_t count = 0;
    AUTO(names) seen = names_new();
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        struct text id = {0};
        if (!fields_is(fields, child, NODE_SCALAR, name) || !read_words(fields, child, name, CELL_ID, &id))
            return false;
        if (field->words != NULL && !is_among(id, field->words))
            return unknown_word(fields, child, name, field->words);
        if (names_find(seen, id) != 0)
            return fields_fault(fields, child, name, "%.*s: stands twice", TEXT_FORMAT(id));
        names_add(seen, id);
        ids[count++] = id;
    }
    *(struct text **)((char *)out + field->at) = ids;
    *(size_t *)((char *)out + field->count_at) = count;
    return true;
}

static bool read_field(const struct fields *fields, const struct node *node, const char *name,
                       const struct field *field, void *out)
{
    if (field->has_at != 0)
        *(bool *)((char *)out + field->has_at) = true;
    switch (field->type) {
    case FIELD_IDS:
        return read_ids(fields, node, name, field, out);
    case FIELD_GROUP:
        return fields_read(fields, node, name, field->group, out);
    case FIELD_READ:
        return field->read(fields, node, name, (char *)out + field->at);
    default:
        return fields_scalar(fields, node, name, field, out);
    }
}

static const struct field *field_named(const struct field *table, struct text key)
{
    for (; table->key != NULL; table++)
        if (text_is(key, table->key))
            return table;
    return NULL;
}

static bool unknown_key(const struct fields *fields, const struct node *node, const char *name,
                        const struct field *table)
{
    const char *keys[MOST_KEYS + 1] = {NULL};
    for (size_t i = 0; i < MOST_KEYS && table[i].key != NULL; i++)
        keys[i] = table[i].key;
    const char *nearest = nearest_word(node->key, keys);
    return fields_fault(fields, node, name, "unknown key%s%s", *nearest ? ", the nearest known is " : "", nearest);
}

static void take_standards(const struct field *table, void *out)
{
    for (; table->key != NULL; table++) {
        if (table->type == FIELD_GROUP)
            take_standards(table->group, out);
        if (table->standard == NULL)
            continue;
        struct text standard = text_of(table->standard);
        struct setting_number *number = (struct setting_number *)((char *)out + table->at);
        if (!number->present)
            *number = (struct setting_number){false, decimal_double(standard), standard};
    }
}

static bool check_required(const struct fields *fields, const struct node *node, const char *name,
                           const struct field *table)
{
    for (; table->key != NULL; table++)
        if (table->required && fields_child(node, table->key) == node)
            return fields_fault(fields, node, fields_name(fields, name, text_of(table->key)), "is missing");
    return true;
}

bool fields_read(const struct fields *fields, const struct node *node, const char *name, const struct field *table,
                 void *out)
{
    take_standards(table, out);
    if (!fields_is(fields, node, NODE_MAP, name))
        return false;
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        const struct field *field = field_named(table, child->key);
        const char *child_name = fields_name(fields, name, child->key);
        if (field == NULL)
            return unknown_key(fields, child, child_name, table);
        if (!read_field(fields, child, child_name, field, out))
            return false;
    }
    return check_required(fields, node, name, table);
}

bool fields_plain(const struct fields *fields, const struct node *node, struct text *out)
{
    *out = text_trim(node->text);
    if (node->kind != NODE_LIST)
        return node->kind == NODE_SCALAR;
    size_t room = 1, size = 0;
    for (const struct node *child = node->first; child != NULL; child = child->next)
        room += child->text.size + 1;
    char *joined = arena_take(fields->arena, room);
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        if (child->kind != NODE_SCALAR)
            return false;
        struct text item = text_trim(child->text);
        if (child != node->first)
            joined[size++] = ';';
        memcpy(joined + size, item.data, item.size);
        size += item.size;
    }
    joined[size] = '\0';
    *out = (struct text){joined, size};
    return true;
}
