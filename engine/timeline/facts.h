/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Facts: what is known at an event of the time line. The table is facts.def; the walk computes them and nothing else
 * does. */
#ifndef ASSIZE_TIMELINE_FACTS_H
#define ASSIZE_TIMELINE_FACTS_H

#include <stdbool.h>
#include <stdint.h>

#include "base/output.h"
#include "base/text.h"

enum fact_type {
    FACT_BOOL,
    FACT_WHOLE,
    FACT_NUMBER,
    FACT_DAY,   /* a day_number */
    FACT_TIME,  /* a moment */
    FACT_NAME,  /* a name of the store's names table */
    FACT_TEXT,  /* borrowed from the site's history or its settings */
    FACT_PLACE, /* a place on the time line: the number of a run */
};

enum fact_scope { /* the events of the time line; a fact of scope RUN, TEST or CONTROL stands in all that a run brings
                   */
                  SCOPE_ANY,
                  SCOPE_RUN,
                  SCOPE_TEST,
                  SCOPE_CONTROL,
                  SCOPE_CLAUSE,
                  SCOPE_TASK,
                  SCOPE_LOT,
                  SCOPE_DAY,
                  SCOPE_ENTRY,
                  SCOPE_PAIR,
                  SCOPE_COUNT,
};

enum fact_source { /* where the record behind a fact stands */
                   SOURCE_NONE,
                   SOURCE_SITE,
                   SOURCE_METHOD,
                   SOURCE_RUN,
                   SOURCE_OPERATORS,
                   SOURCE_ANALYZERS,
                   SOURCE_LOTS,
                   SOURCE_OPENINGS,
                   SOURCE_CONTROL_LOTS,
                   SOURCE_CODES,
                   SOURCE_CONTROLS,
                   SOURCE_CLEANING,
                   SOURCE_TRAINING,
                   SOURCE_MAINTENANCE,
                   SOURCE_LOT_CHECKS,
                   SOURCE_COUNT,
};

enum fact_id {
#define FACT(name, type, scope, unit, meaning, absent, source) F_##name,
#include "timeline/facts.def"
#undef FACT
    FACT_COUNT
};

struct fact_row {
    const char *name;
    enum fact_type type;
    enum fact_scope scope;
    const char *unit, *meaning, *absent;
    enum fact_source source;
};

extern const struct fact_row fact_rows[FACT_COUNT];
int fact_named(const char *name);    /* -1 if there is none */
const char *const *fact_names(void); /* NULL at its end, for text_nearest */
const char *fact_type_name(enum fact_type type);
const char *fact_scope_name(enum fact_scope scope);

struct fact {
    bool present;
    union {
        bool yes;
        int64_t whole; /* WHOLE, DAY, TIME, NAME, PLACE */
        double number;
        struct text text;
    };
};

bool fact_equal(enum fact_type type, const struct fact *a, const struct fact *b);

#endif
