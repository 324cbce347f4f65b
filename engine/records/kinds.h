/* SPDX-License-Identifier: GPL-3.0-or-later */
/* THE table of record kinds: what a site hands in. Loader, schema, Lua fields, blank log sheets, fuzz dictionaries and
 * the record dictionary in docs/ all follow from it. It is written down in kinds.def; adding a column changes that file
 * and nothing else by hand. */
#ifndef ASSIZE_RECORDS_KINDS_H
#define ASSIZE_RECORDS_KINDS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

enum cell_type {
    CELL_ID,     /* 1 to 64 printable characters, compared byte for byte */
    CELL_DATE,   /* YYYY-MM-DD */
    CELL_TIME,   /* YYYY-MM-DD HH:MM[:SS], the site's own wall clock */
    CELL_NUMBER, /* [+-]digits[.digits], kept as written */
    CELL_WHOLE,  /* a whole number that fits 64 bits */
    CELL_RESULT, /* a number, <N, >N or a word, kept as written */
    CELL_YES_NO,
    CELL_WORD,  /* one of the column's words */
    CELL_WORDS, /* a ;-separated list; a word outside the column's words only warns */
    CELL_TEXT,  /* free text, up to 4,000 characters */
};

enum column_flags {
    COLUMN_REQUIRED = 1,
    COLUMN_KEY = 2,       /* part of the record's key */
    COLUMN_EVENT = 4,     /* the date or time when the record happened: as-of and the period go by it */
    COLUMN_PLENTIFUL = 8, /* an id that differs from row to row: stored as text, not as a number of the names table */
};

struct column {
    const char *name;
    enum cell_type type;
    unsigned flags;
    const char *const *words; /* CELL_WORD, CELL_WORDS: the closed list, NULL at its end; else NULL */
    const char *unit;         /* NULL: none */
    const char *meaning;      /* one sentence */
};

enum kind_id {
#define KIND(ID, name, core, meaning) KIND_##ID,
#define COLUMN(...)
#define KIND_END(ID)
#include "records/kinds.def"
    KIND_COUNT,
};

enum { COLUMNS_MOST = 20 };

struct record_kind {
    enum kind_id id;
    const char *name;             /* as in the file name */
    const char *meaning;          /* what the log is for, one sentence */
    bool core;                    /* judged as if empty where the log is not kept */
    const struct column *columns; /* `note` stands last in each kind */
    size_t column_count;
    int event_column; /* the COLUMN_EVENT column, -1 if the kind is always known (operators, analyzers, lots) */
};

const struct record_kind *kind_of(enum kind_id id);
const struct record_kind *kind_named(struct text name);            /* NULL if there is none */
int kind_column(const struct record_kind *kind, struct text name); /* any case; -1 if there is none */
const char *const *kind_names(void);                               /* NULL at its end; for text_nearest */
const char *cell_type_name(enum cell_type type);                   /* as the dictionary prints it: "id", "date" … */

/* Column numbers that C code reads by name, so that a misspelt one does not compile: COL(TESTS, performed_at) is an
 * enum value. They are made from the same list as the table (kinds.def). */
#define COL(kind, column) COL_##kind##_##column

#include "records/columns.h"

#endif
