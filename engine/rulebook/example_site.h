/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside of the examples: the base site, and a history made of it with an example's changes. */
#ifndef ASSIZE_RULEBOOK_EXAMPLE_SITE_H
#define ASSIZE_RULEBOOK_EXAMPLE_SITE_H

#include "rulebook/examples.h"
#include "timeline/history.h"

enum {
    EXAMPLE_ENTRIES_MOST = 1000,     /* of a list of an example */
    EXAMPLES_ENTRIES_MOST = 10000,   /* of all lists of a rule's examples */
    EXAMPLES_BYTES_MOST = 256 << 10, /* of text in all tables of a rule's examples, each counted once */
    EXAMPLE_BYTES_MOST = 4 << 20,    /* of the cells of one example, whose rows may be the same table many times */
};

struct example_row {
    struct text cells[COLUMNS_MOST]; /* as written; absent where empty */
    uint32_t line;
    bool own; /* the example's, not the base site's */
};

struct example_rows {
    struct example_row *rows;
    size_t count, capacity;
    bool kept;
};

struct example_site {
    struct arena *arena;
    struct settings_source *sources; /* site.yaml first */
    size_t source_count;
    struct example_rows kinds[KIND_COUNT];
    struct example_row defaults[KIND_COUNT];
};

struct example { /* one example, being made ready */
    struct arena *arena;
    struct names *names;
    struct site_settings settings;
    struct example_rows kinds[KIND_COUNT];
    day_number from, to;
    size_t bytes_left; /* for cells */
};

/* Reads the example at the top of the stack (and leaves it) over the base site. False: what is wrong with it. */
bool example_read(lua_State *lua, const struct example_site *site, struct example *out, struct fault *fault);
bool example_history(lua_State *lua, struct example *example, struct history **out, struct fault *fault);
/* What the example at the top of the stack puts on record beyond the base site, a line each. */
void example_given(lua_State *lua, const struct example_site *site, const struct example *example, struct arena *arena,
                   struct example_told *told);
void example_clear(struct example *example);

#endif
