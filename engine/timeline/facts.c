/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "timeline/facts.h"

#include <string.h>

const struct fact_row fact_rows[FACT_COUNT] = {
#define FACT(name, type, scope, unit, meaning, absent, source) \
    {#name, FACT_##type, SCOPE_##scope, unit, meaning, absent, SOURCE_##source},
#include "timeline/facts.def"
#undef FACT
};

static const char *const names[FACT_COUNT + 1] = {
#define FACT(name, type, scope, unit, meaning, absent, source) #name,
#include "timeline/facts.def"
#undef FACT
};

int fact_named(const char *name)
{
    for (int i = 0; i < FACT_COUNT; i++)
        if (!strcmp(names[i], name))
            return i;
    return -1;
}

const char *const *fact_names(void) { return names; }

const char *fact_type_name(enum fact_type type)
{
    static const char *const type_names[] = {"yes or no", "whole number", "number", "day",
                                             "time",      "name",         "text",   "place"};
    return type_names[type];
}

const char *fact_scope_name(enum fact_scope scope)
{
    static const char *const scope_names[] = {"any",  "run", "test", "control", "clause",
                                              "task", "lot", "day",  "entry",   "pair"};
    return scope_names[scope];
}

bool fact_equal(enum fact_type type, const struct fact *a, const struct fact *b)
{
    if (a->present != b->present)
        return false;
    if (!a->present)
        return true;
    switch (type) {
    case FACT_BOOL:
        return a->yes == b->yes;
    case FACT_NUMBER:
        return a->number == b->number;
    case FACT_TEXT:
        return text_equal(a->text, b->text);
    default:
        return a->whole == b->whole;
    }
}
