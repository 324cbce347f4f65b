/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Prints the words that a target's inputs are made of, as a dictionary for libFuzzer: of logs by the table of kinds, of
 * rules by the tables of facts and of what the box lets in, of settings by the keys and values of files that are named.
 *
 *   make-dictionary logs|rules        make-dictionary settings FILE… */
#include <stdio.h>
#include <string.h>

#include "intake/file.h"
#include "intake/yaml.h"
#include "records/kinds.h"
#include "rulebook/sandbox.h"
#include "timeline/facts.h"

static void put(struct text word)
{
    if (word.size == 0 || word.size > 60)
        return;
    putchar('"');
    for (size_t i = 0; i < word.size; i++) {
        unsigned char c = (unsigned char)word.data[i];
        printf(c < ' ' || c >= 0x7F || c == '"' || c == '\\' ? "\\x%02X" : "%c", c);
    }
    puts("\"");
}

static void put_all(const char *const *words)
{
    for (; *words != NULL; words++)
        put(text_of(*words));
}

static void put_kinds(void)
{
    for (int k = 0; k < KIND_COUNT; k++) {
        const struct record_kind *kind = kind_of((enum kind_id)k);
        put(text_of(kind->name));
        for (size_t i = 0; i < kind->column_count; i++) {
            put(text_of(kind->columns[i].name));
            if (kind->columns[i].words != NULL)
                put_all(kind->columns[i].words);
        }
    }
}

static void put_logs(void)
{
    static const char *const other[] = {"\"",
                                        "\"\"",
                                        ",",
                                        "\r\n",
                                        "\n",
                                        "\xEF\xBB\xBF",
                                        "\xFF\xFE",
                                        "\xFE\xFF",
                                        "\x85",
                                        "\xC3\xA9",
                                        "yes",
                                        "no",
                                        "2026-10-05",
                                        " 09:00",
                                        "T09:00:30",
                                        "2028-02-29",
                                        "<5",
                                        ">600",
                                        "-0.50",
                                        "5.4",
                                        "+",
                                        "\xC2\xA0",
                                        ";",
                                        "\t",
                                        "9223372036854775807",
                                        "-9223372036854775808",
                                        "\xE2\x80\xA8",
                                        NULL};
    put_kinds();
    put_all(other);
}

static void put_rules(void)
{
    static const char *const other[] = {
        "return rule {", "function(",    ") end",        "return ",   "local ",         "for ",     "while true do ",
        "if ",           "then ",        "examples = {", "finds = {", "says = ",        "check = ", "affects = ",
        "facts = {",     "subject = {",  "on = ",        "shape = ",  "parameters = {", "..",       "~=",
        "nil",           "::a:: goto a", "shared ",      NULL};
    put_kinds();
    put_all(other);
    for (const struct sandbox_entry *entry = sandbox_allowed; entry->library != NULL; entry++) {
        put(text_of(entry->library));
        put(text_of(entry->function));
    }
    for (int i = 0; i < FACT_COUNT; i++)
        put(text_of(fact_rows[i].name));
}

static void put_node(const struct node *node)
{
    put(node->key);
    put(node->text);
    for (const struct node *child = node->first; child != NULL; child = child->next)
        put_node(child);
}

static bool put_file(const char *path)
{
    struct fault fault = {.code = FAULT_NONE};
    const struct node *root;
    AUTO(arena) arena = arena_new();
    struct file_bytes file = {0};
    bool good = file_read(path, NULL, &file, &fault) && yaml_parse(&file.data, file.size, path, arena, &root, &fault);
    if (good)
        put_node(root);
    else
        fprintf(stderr, "%s\n", fault.text);
    memory_free(file.data);
    return good;
}

static bool put_settings(int count, char **files)
{
    static const char *const other[] = {
        ": ", "\n  ", "- ",  "{", "}",    "[",    "]", "&a ", "*a",        "!!str ", "--- ",
        "? ", "|\n",  ">\n", "#", "<<: ", "\x1E", "'", "\"",  "policy:\n", "off: ",  NULL};
    bool good = true;
    put_all(other);
    for (int i = 0; i < count; i++)
        good = put_file(files[i]) && good;
    return good;
}

int main(int count, char **words)
{
    const char *what = count > 1 ? words[1] : "";
    if (strcmp(what, "logs") == 0)
        put_logs();
    else if (strcmp(what, "rules") == 0)
        put_rules();
    else if (strcmp(what, "settings") != 0 || !put_settings(count - 2, words + 2))
        return 2;
    return 0;
}
