/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing JSON (RFC 8259), of output.h. */
#include <inttypes.h>
#include <string.h>

#include "base/output.h"
#include "base/utf8.h"

enum { REPLACEMENT = 0xFFFD }; /* for a byte that is no UTF-8 */

struct container {
    char closing; /* ']' or '}' */
    bool inline_, has_items;
};

struct json {
    struct output *output;
    struct container *open; /* innermost last */
    size_t depth, capacity;
};

struct json *json_new(struct output *output)
{
    struct json *json = memory_new(sizeof *json);
    json->output = output;
    return json;
}

void json_free(struct json *json)
{
    if (json == NULL)
        return;
    memory_free(json->open);
    memory_free(json);
}

static struct container *innermost(struct json *json) { return json->depth > 0 ? &json->open[json->depth - 1] : NULL; }

static void new_line(struct json *json)
{
    output_text(json->output, TEXT("\n"));
    for (size_t i = 0; i < json->depth; i++)
        output_text(json->output, TEXT("  "));
}

static void quoted(struct output *output, struct text value)
{
    static const char plain[] = "\"\\\b\f\n\r\t", letters[] = "\"\\bfnrt";
    output_text(output, TEXT("\""));
    size_t from = 0;
    size_t size;
    for (size_t i = 0; i < value.size; i += size) {
        uint32_t character;
        if (!utf8_first((struct text){value.data + i, value.size - i}, &character, &size))
            character = REPLACEMENT;
        else if (character >= ' ' && character != '"' && character != '\\')
            continue;
        output_bytes(output, value.data + from, i - from);
        from = i + size;
        const char *known = character < 128 ? memchr(plain, (int)character, sizeof plain - 1) : NULL;
        if (known != NULL)
            output_print(output, "\\%c", letters[known - plain]);
        else
            output_print(output, "\\u%04x", (unsigned)character);
    }
    output_bytes(output, value.data + from, value.size - from);
    output_text(output, TEXT("\""));
}

/* What stands before a value: the comma, the line or blank, the name. */
static void begin_value(struct json *json, const char *name)
{
    struct container *in = innermost(json);
    if (in != NULL) {
        if (in->has_items)
            output_text(json->output, in->inline_ ? TEXT(", ") : TEXT(","));
        in->has_items = true;
        if (!in->inline_)
            new_line(json);
    }
    if (name != NULL) {
        quoted(json->output, text_of(name));
        output_text(json->output, TEXT(": "));
    }
}

static void begin_container(struct json *json, const char *name, char opening, struct container container)
{
    begin_value(json, name);
    output_bytes(json->output, &opening, 1);
    struct container *in = innermost(json);
    container.inline_ = container.inline_ || (in != NULL && in->inline_);
    VECTOR_GROW(json->open, json->depth, json->capacity);
    json->open[json->depth++] = container;
}

void json_object(struct json *json, const char *name, bool inline_)
{
    begin_container(json, name, '{', (struct container){.closing = '}', .inline_ = inline_});
}

void json_list(struct json *json, const char *name, bool inline_)
{
    begin_container(json, name, '[', (struct container){.closing = ']', .inline_ = inline_});
}

void json_end(struct json *json)
{
    struct container ended = json->open[--json->depth];
    if (ended.has_items && !ended.inline_)
        new_line(json);
    output_bytes(json->output, &ended.closing, 1);
    if (json->depth == 0)
        output_text(json->output, TEXT("\n"));
}

void json_text(struct json *json, const char *name, struct text value)
{
    if (value.data == NULL) {
        json_null(json, name);
        return;
    }
    begin_value(json, name);
    quoted(json->output, value);
}

void json_string(struct json *json, const char *name, const char *value) { json_text(json, name, text_of(value)); }

void json_whole(struct json *json, const char *name, int64_t value)
{
    begin_value(json, name);
    output_print(json->output, "%" PRId64, value);
}

void json_bool(struct json *json, const char *name, bool value)
{
    begin_value(json, name);
    output_text(json->output, value ? TEXT("true") : TEXT("false"));
}

void json_null(struct json *json, const char *name)
{
    begin_value(json, name);
    output_text(json->output, TEXT("null"));
}
