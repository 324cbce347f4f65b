/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/yaml.h"

#include <string.h>
#include <yaml.h>

#include "intake/encoding.h"

enum { DEEPEST = 16, LARGEST = 1024 * 1024 };

struct reader {
    yaml_parser_t parser;
    struct arena *arena;
    const char *shown;
    struct fault *fault;
};

static bool complain(struct reader *reader, size_t line, const char *reason)
{
    return fault_set(reader->fault, FAULT_SETTINGS, "%s:%zu: %s", reader->shown, line, reason);
}

static size_t line_of(const yaml_event_t *event) { return event->start_mark.line + 1; }

static bool next_event(struct reader *reader, yaml_event_t *event)
{
    const yaml_parser_t *parser = &reader->parser;
    if (yaml_parser_parse(&reader->parser, event))
        return true;
    const char *problem = parser->problem != NULL ? parser->problem : "is no valid YAML";
    return complain(reader, (parser->problem_mark.line ? parser->problem_mark.line : parser->mark.line) + 1, problem);
}

static bool read_node(struct reader *reader, yaml_event_t *event, int depth, struct node **out);

/* What a node of any kind must not have. */
static bool check_plain(struct reader *reader, const yaml_event_t *event)
{
    const yaml_char_t *anchor = NULL, *tag = NULL;
    if (event->type == YAML_ALIAS_EVENT)
        return complain(reader, line_of(event), "an alias; write the value out");
    if (event->type == YAML_SCALAR_EVENT) {
        anchor = event->data.scalar.anchor;
        tag = event->data.scalar.tag;
    } else if (event->type == YAML_SEQUENCE_START_EVENT) {
        anchor = event->data.sequence_start.anchor;
        tag = event->data.sequence_start.tag;
    } else if (event->type == YAML_MAPPING_START_EVENT) {
        anchor = event->data.mapping_start.anchor;
        tag = event->data.mapping_start.tag;
    }
    if (anchor != NULL)
        return complain(reader, line_of(event), "an anchor; write the value out where it is needed");
    if (tag != NULL)
        return complain(reader, line_of(event), "a tag; leave it out, the key says what its value is");
    return true;
}

/* Copies a scalar. Line breaks and tabs may stand in it; other control characters, which escapes can make, would garble
 * whatever is printed from it. */
static bool keep_scalar(struct reader *reader, const yaml_event_t *event, struct text *out)
{
    struct text text = {(const char *)event->data.scalar.value, event->data.scalar.length};
    for (size_t i = 0; i < text.size; i++) {
        unsigned char c = (unsigned char)text.data[i];
        if ((c < 0x20 && c != '\n' && c != '\t') || c == 0x7F)
            return complain(reader, line_of(event), "a character that does not print");
    }
    *out = text_keep(reader->arena, text);
    return true;
}

/* A key and, if it is good, the event after it: that of its value. */
static bool read_key(struct reader *reader, yaml_event_t *event, struct names *seen, struct text *key)
{
    if (!check_plain(reader, event))
        return false;
    if (event->type != YAML_SCALAR_EVENT || event->data.scalar.length == 0)
        return complain(reader, line_of(event), "a key must be a word");
    if (!keep_scalar(reader, event, key))
        return false;
    if (names_find(seen, *key) != 0)
        return fault_set(reader->fault, FAULT_SETTINGS, "%s:%zu: %.*s: stands twice", reader->shown, line_of(event),
                         TEXT_FORMAT(*key));
    names_add(seen, *key);
    yaml_event_delete(event);
    memset(event, 0, sizeof *event);
    return next_event(reader, event);
}

/* The nodes up to the event `end`. Of a map each follows its key; `seen` is NULL in a list. */
static bool read_children(struct reader *reader, struct node *parent, yaml_event_type_t end, struct names *seen,
                          int depth)
{
    struct node **place = &parent->first;
    for (;;) {
        yaml_event_t event = {0};
        struct text key = {0};
        bool good = next_event(reader, &event);
        bool ends = good && event.type == end;
        size_t line = good ? line_of(&event) : 0;
        if (good && !ends)
            good = (seen == NULL || read_key(reader, &event, seen, &key)) && read_node(reader, &event, depth, place);
        yaml_event_delete(&event);
        if (!good || ends)
            return good;
        (*place)->key = key;
        (*place)->line = (uint32_t)line;
        place = &(*place)->next;
    }
}

static bool read_node(struct reader *reader, yaml_event_t *event, int depth, struct node **out)
{
    if (!check_plain(reader, event))
        return false;
    if (depth > DEEPEST)
        return complain(reader, line_of(event), "nested too deep");
    struct node *node = arena_take(reader->arena, sizeof *node);
    *node = (struct node){.line = (uint32_t)line_of(event)};
    *out = node;
    if (event->type == YAML_SEQUENCE_START_EVENT) {
        node->kind = NODE_LIST;
        return read_children(reader, node, YAML_SEQUENCE_END_EVENT, NULL, depth + 1);
    }
    if (event->type == YAML_MAPPING_START_EVENT) {
        AUTO(names) seen = names_new();
        node->kind = NODE_MAP;
        return read_children(reader, node, YAML_MAPPING_END_EVENT, seen, depth + 1);
    }
    node->is_empty = event->data.scalar.length == 0 && event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE;
    return keep_scalar(reader, event, &node->text);
}

/* Passes over events that say nothing; true with the start of the one document's content, or the end of the file. */
static bool next_content(struct reader *reader, yaml_event_t *event)
{
    for (;;) {
        if (!next_event(reader, event))
            return false;
        if (event->type != YAML_STREAM_START_EVENT && event->type != YAML_DOCUMENT_START_EVENT &&
            event->type != YAML_DOCUMENT_END_EVENT)
            return true;
        yaml_event_delete(event);
        memset(event, 0, sizeof *event);
    }
}

static bool read_document(struct reader *reader, const struct node **out)
{
    yaml_event_t event = {0};
    struct node *root = NULL;
    bool good = next_content(reader, &event);
    if (good && event.type == YAML_STREAM_END_EVENT)
        good = complain(reader, 1, "holds no settings");
    else if (good && event.type != YAML_MAPPING_START_EVENT)
        good = check_plain(reader, &event) && complain(reader, line_of(&event), "expected `key: value` lines");
    good = good && read_node(reader, &event, 1, &root);
    yaml_event_delete(&event);
    memset(&event, 0, sizeof event);
    good = good && next_content(reader, &event);
    if (good && event.type != YAML_STREAM_END_EVENT)
        good = complain(reader, line_of(&event), "a second document; a file holds one");
    yaml_event_delete(&event);
    *out = root;
    return good;
}

bool yaml_parse(char **bytes, size_t size, const char *shown, struct arena *arena, const struct node **out,
                struct fault *fault)
{
    struct reader reader = {.arena = arena, .shown = shown, .fault = fault};
    const char *note;
    char why[WHY_SIZE];
    size_t start;
    if (size > LARGEST)
        return complain(&reader, 1, "is larger than 1 MiB");
    if (!encoding_to_utf8(bytes, &size, &start, &note, why))
        return complain(&reader, 1, why);
    if (note != NULL)
        return complain(&reader, 1, "is not UTF-8; save it as UTF-8");
    if (!yaml_parser_initialize(&reader.parser))
        return complain(&reader, 1, "cannot be read: out of memory");
    yaml_parser_set_encoding(&reader.parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&reader.parser, (const unsigned char *)*bytes + start, size - start);
    bool good = read_document(&reader, out);
    yaml_parser_delete(&reader.parser);
    return good;
}
