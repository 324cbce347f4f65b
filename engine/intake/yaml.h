/* SPDX-License-Identifier: GPL-3.0-or-later */
/* YAML as a tree of nodes, each with its line. All scalars are text: what they mean is up to the key they stand under.
 * Duplicate keys, aliases, anchors, tags, a second document, deep nesting and very large files are errors. */
#ifndef ASSIZE_INTAKE_YAML_H
#define ASSIZE_INTAKE_YAML_H

#include <stdbool.h>
#include <stdint.h>

#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"

enum node_kind { NODE_SCALAR, NODE_LIST, NODE_MAP };

struct node {
    enum node_kind kind;
    uint32_t line;      /* of its key, if it stands in a map */
    bool is_empty;      /* of a scalar: nothing stands there, not even quotes */
    struct text text;   /* of a scalar */
    struct text key;    /* its key, if it stands in a map */
    struct node *first; /* of a list or map, in the order of the file */
    struct node *next;  /* in the list or map it stands in */
};

/* The tree of a file's bytes, that must hold one map. `shown` names the file in messages: `shown:line: key: reason`.
 * *bytes is owned by the caller and may be replaced by its UTF-8 form. Nodes live in the arena. */
bool yaml_parse(char **bytes, size_t size, const char *shown, struct arena *arena, const struct node **out,
                struct fault *fault);

#endif
