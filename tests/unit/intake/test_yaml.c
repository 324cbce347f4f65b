/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "intake/yaml.h"
#include "scratch.h"

static bool parse(struct text yaml, struct arena *arena, const struct node **out, struct fault *fault)
{
    char *bytes = memory_resize(NULL, yaml.size + 1, 1);
    memcpy(bytes, yaml.data, yaml.size);
    *fault = (struct fault){0};
    bool good = yaml_parse(&bytes, yaml.size, "site.yaml", arena, out, fault);
    cr_expect_eq(good, fault->code == FAULT_NONE);
    memory_free(bytes);
    return good;
}

/* A tree in one line: `key@line=text`, lists in [], maps in {}. */
static size_t print_node(const struct node *node, char *out, size_t room)
{
    size_t at = 0;
    if (node->key.data != NULL)
        at += (size_t)snprintf(out, room, "%.*s@%u=", TEXT_FORMAT(node->key), node->line);
    if (node->kind == NODE_SCALAR)
        return at + (size_t)snprintf(out + at, room - at, "%s%.*s", node->is_empty ? "~" : "", TEXT_FORMAT(node->text));
    at += (size_t)snprintf(out + at, room - at, node->kind == NODE_LIST ? "[" : "{");
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        at += print_node(child, out + at, room - at);
        if (child->next != NULL)
            at += (size_t)snprintf(out + at, room - at, " ");
    }
    return at + (size_t)snprintf(out + at, room - at, node->kind == NODE_LIST ? "]" : "}");
}

Test(yaml, trees_have_their_lines_and_scalars_are_text)
{
    static const char *const vectors[][2] = {
        {"a: 1", "{a@1=1}"},
        {"---\na: no\nb: off\nc: 007\nd: 7:00\ne: 1e3\nf: null\n...\n",
         "{a@2=no b@3=off c@4=007 d@5=7:00 e@6=1e3 f@7=null}"},
        {"a:\nb: \"\"\nc: ''\n", "{a@1=~ b@2= c@3=}"},
        {"# comment\n\na: [x, y]\nb:\n  - c: 1\n    d: 2\n  - e\n", "{a@3=[x y] b@4=[{c@5=1 d@6=2} e]}"},
        {"a: {b: {c: d}}", "{a@1={b@1={c@1=d}}}"},
        {"a: |\n  two\n  lines\n", "{a@1=two\nlines\n}"},
        {"\xEF\xBB\xBF"
         "a: \"\\u00e9\"",
         "{a@1=\xC3\xA9}"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        AUTO(arena) arena = arena_new();
        const struct node *root;
        struct fault fault;
        char printed[512];
        cr_assert(parse(text_of(vectors[i][0]), arena, &root, &fault), "%s", fault.text);
        print_node(root, printed, sizeof printed);
        cr_expect_str_eq(printed, vectors[i][1], "%s", printed);
    }
}

Test(yaml, what_would_be_misread_is_an_error_with_its_line)
{
    static const struct {
        struct text yaml;
        const char *why;
    } vectors[] = {
        {{"", 0}, "site.yaml:1: holds no settings"},
        {{"# nothing\n", 10}, "site.yaml:1: holds no settings"},
        {{"- a\n", 4}, "site.yaml:1: expected `key: value` lines"},
        {{"a\n", 2}, "site.yaml:1: expected `key: value` lines"},
        {{"a: 1\nb: 2\na: 3\n", 15}, "site.yaml:3: a: stands twice"},
        {{"x: {a: 1, a: 1}\n", 16}, "site.yaml:1: a: stands twice"},
        {{"a: &x 1\nb: *x\n", 14}, "site.yaml:1: an anchor; write the value out where it is needed"},
        {{"a: [&x y]\n", 10}, "site.yaml:1: an anchor; write the value out where it is needed"},
        {{"&x a: 1\n", 8}, "site.yaml:1: an anchor; write the value out where it is needed"},
        {{"a: 1\nb: *x\n", 11}, "site.yaml:2: an alias; write the value out"},
        {{"a: 1\n<<: *x\n", 12}, "site.yaml:2: an alias; write the value out"},
        {{"a: !!str 1\n", 11}, "site.yaml:1: a tag; leave it out, the key says what its value is"},
        {{"a: 1\n? [b]\n: c\n", 15}, "site.yaml:2: a key must be a word"},
        {{"a: 1\n\"\": c\n", 11}, "site.yaml:2: a key must be a word"},
        {{"a: 1\n---\nb: 2\n", 14}, "site.yaml:3: a second document; a file holds one"},
        {{"a: \"\\0\"\n", 8}, "site.yaml:1: a character that does not print"},
        {{"a: \"\\e[1m\"\n", 11}, "site.yaml:1: a character that does not print"},
        {{"a: caf\xE9\n", 8}, "site.yaml:1: is not UTF-8; save it as UTF-8"},
        {{"a: b: c\n", 8}, "site.yaml:1: mapping values are not allowed in this context"},
        {{"a: [b\n", 6}, "site.yaml:2: did not find expected ',' or ']'"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        AUTO(arena) arena = arena_new();
        const struct node *root;
        struct fault fault;
        cr_expect_not(parse(vectors[i].yaml, arena, &root, &fault), "%zu", i);
        cr_expect_str_eq(fault.text, vectors[i].why, "%zu: %s", i, fault.text);
        cr_expect_eq(fault.code, FAULT_SETTINGS);
    }
}

Test(yaml, depth_and_size_are_capped)
{
    AUTO(arena) arena = arena_new();
    const struct node *root;
    struct fault fault;
    static char deep[4096] = "a: ", large[1024 * 1024 + 8];
    memset(deep + 3, '[', 2000);
    cr_expect_not(parse(text_of(deep), arena, &root, &fault));
    cr_expect_str_eq(fault.text, "site.yaml:1: nested too deep");
    memset(large, '#', sizeof large);
    cr_expect_not(parse((struct text){large, sizeof large}, arena, &root, &fault));
    cr_expect_str_eq(fault.text, "site.yaml:1: is larger than 1 MiB");
}

/* Seeded: any damage gives a tree or a fault. */
Test(yaml, damaged_files_are_read_or_refused)
{
    static const char good[] = "site: x\nplaces:\n  - {place: a, low: 2}\nchanges: [\"q\", 'r']\ntext: |\n  b\n";
    unsigned seed = 11;
    for (int round = 0; round < 5000; round++) {
        char yaml[sizeof good];
        memcpy(yaml, good, sizeof good);
        for (int i = 0; i < 3; i++) {
            static const char marks[] = "{}[]:,-#&*!|>'\"%@`\n\t \\x\xE9";
            seed = seed * 1103515245U + 12345U;
            yaml[(seed >> 8) % (sizeof good - 1)] = marks[(seed >> 20) % (sizeof marks - 1)];
        }
        AUTO(arena) arena = arena_new();
        const struct node *root = NULL;
        struct fault fault;
        if (parse((struct text){yaml, sizeof good - 1}, arena, &root, &fault))
            cr_assert_eq(root->kind, NODE_MAP);
        else
            cr_assert_eq(strncmp(fault.text, "site.yaml:", 10), 0);
    }
}
