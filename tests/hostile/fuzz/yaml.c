/* SPDX-License-Identifier: GPL-3.0-or-later */
/* YAML: a tree whose lines exist, whose keys are there and differ, or a fault that names the file and a line of it. */
#include <string.h>

#include "common/fuzz.h"
#include "intake/yaml.h"

enum { DEPTH_MOST = 1000 };

static void require_key(const struct node *map, const struct node *child)
{
    REQUIRE(child->key.data != NULL);
    for (const struct node *before = map->first; before != child; before = before->next)
        REQUIRE(!text_equal(before->key, child->key));
}

static void require_tree(const struct node *node, uint32_t lines, int depth)
{
    REQUIRE(depth < DEPTH_MOST);
    REQUIRE(node->line >= 1 && node->line <= lines);
    REQUIRE(node->kind != NODE_SCALAR || node->first == NULL);
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        if (node->kind == NODE_MAP)
            require_key(node, child);
        require_tree(child, lines, depth + 1);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct text file = fuzz_text(data, size);
    struct fault fault = {.code = FAULT_NONE};
    const struct node *root = NULL;
    char *bytes = fuzz_copy(file);
    AUTO(arena) arena = arena_new();
    bool good = yaml_parse(&bytes, size, "shown", arena, &root, &fault);
    REQUIRE(good == (fault.code == FAULT_NONE));
    if (good) {
        REQUIRE(root->kind == NODE_MAP);
        require_tree(root, (uint32_t)size + 1, 0);
    } else {
        REQUIRE(fault.code == FAULT_SETTINGS && strncmp(fault.text, "shown", 5) == 0);
    }
    memory_free(bytes);
    return 0;
}
