/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a rule's table: what rule.c and rule_parameters.c share. Every fault names the file and the field. */
#ifndef ASSIZE_RULEBOOK_RULE_READER_H
#define ASSIZE_RULEBOOK_RULE_READER_H

#include "rulebook/rule.h"

struct reader {
    lua_State *lua;
    int table; /* index of the rule's table */
    struct arena *arena;
    struct rule *rule;
    struct fault *fault;
};

/* Returns false. */
bool reader_wrong(struct reader *reader, const char *field, const char *why);
/* The string at an index of the stack, kept in the arena; `field` is for the fault where it is too long. */
bool reader_text_at(struct reader *reader, int index, const char *field, struct text *out);
/* A string field; absent is allowed only where `required` is false. */
bool reader_text(struct reader *reader, const char *field, bool required, struct text *out);

/* The field `params`. */
bool reader_parameters(struct reader *reader);

#endif
