/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Settings as tables: each key of a YAML map with its type and the place in a C struct where its value goes.
 * Every error is `file:line: key: reason`, the key in full ("controls.levels"). */
#ifndef ASSIZE_INTAKE_FIELDS_H
#define ASSIZE_INTAKE_FIELDS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"
#include "intake/settings.h"
#include "intake/yaml.h"

/* What reading a file needs: where its values live, and how the file is called. */
struct fields {
    struct arena *arena;
    const char *shown; /* in messages: a path that can be opened from here */
    struct text file;  /* in evidence: relative to the site folder */
    struct fault *fault;
};

enum field_type {
    FIELD_ID,     /* struct text: 1 to 64 printable characters */
    FIELD_TEXT,   /* struct text: free text of up to 4,000 characters */
    FIELD_DATE,   /* day_number */
    FIELD_CLOCK,  /* int: seconds after midnight, of H:MM or HH:MM */
    FIELD_YES_NO, /* bool */
    FIELD_CHOICE, /* bool: true if it is the second of the two words */
    FIELD_NUMBER, /* struct setting_number: any decimal number */
    FIELD_AMOUNT, /* likewise, not below 0 */
    FIELD_WHOLE,  /* likewise, a whole number from 0 to 1,000,000 */
    FIELD_COUNT,  /* likewise, from 1 */
    FIELD_DUTY,   /* enum duty */
    FIELD_IDS,    /* struct text *, and size_t at `count_at`: a list, none twice; of `words` only, if there are any */
    FIELD_GROUP,  /* a map with the keys of `group`, which go into the same struct */
    FIELD_READ,   /* whatever `read` makes of the node */
};

struct field {
    const char *key; /* NULL ends a table */
    enum field_type type;
    bool required;
    size_t at, count_at;      /* offsets in the struct */
    size_t has_at;            /* of a bool that says whether the key stands; 0: none */
    double most;              /* of a number, or of a clock in seconds; 0: what its type allows */
    const char *standard;     /* of a number: what counts where it is absent; `present` stays false */
    const char *const *words; /* NULL at its end */
    const struct field *group;
    bool (*read)(const struct fields *fields, const struct node *node, const char *name, void *out);
};

/* Fills in `out` from the map `node`. Keys that are not in the table, are missing though required, or have a value of
 * the wrong type are errors. `name` is the map's own key in full, "" at the top. Before that all numbers of the table
 * that have a standard get it. */
bool fields_read(const struct fields *fields, const struct node *node, const char *name, const struct field *table,
                 void *out);

/* For the functions behind FIELD_READ. */
bool fields_fault(const struct fields *fields, const struct node *node, const char *key, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* Whether a text has something that a reader sees, and nothing that does not show. */
bool fields_shows(const struct fields *fields, const struct node *node, const char *key, struct text text);
const char *fields_name(const struct fields *fields, const char *parent, struct text key); /* "parent.key" */
bool fields_is(const struct fields *fields, const struct node *node, enum node_kind kind, const char *name);
/* It is, and has no more entries than can be meant: for what is looked at with each run. */
bool fields_few(const struct fields *fields, const struct node *node, enum node_kind kind, const char *name);
bool fields_scalar(const struct fields *fields, const struct node *node, const char *name, const struct field *field,
                   void *out); /* one value of a scalar type, to out + field->at */
bool fields_range(const struct fields *fields, const struct node *node, const char *name, struct setting_number low,
                  struct setting_number high); /* an error if low lies above high; one of them may be absent */
size_t fields_count(const struct node *node);  /* of a list's or map's nodes */
const struct node *fields_child(const struct node *map, const char *key); /* the map itself if it lacks the key */
struct where fields_where(const struct fields *fields, const struct node *node);
/* A scalar as it is; a list of scalars as its words with `;` between. False: neither. */
bool fields_plain(const struct fields *fields, const struct node *node, struct text *out);

#endif
