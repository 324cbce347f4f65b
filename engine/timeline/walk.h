/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The walk: once along a site's time line, oldest run to newest, carrying what is known. At each event it hands out the
 * facts that hold then; `audit` judges them, `trace` prints them. Allocates nothing per run.
 *
 * Order of events: run by run, each first as itself (SCOPE_TEST or SCOPE_CONTROL), then against each clause, task and
 * lot, then as an entry; an analyzer's testing day follows its last run. Cleaning and temperature entries and pairs
 * come last. */
#ifndef ASSIZE_TIMELINE_WALK_H
#define ASSIZE_TIMELINE_WALK_H

#include "timeline/facts.h"
#include "timeline/history.h"

struct place { /* a file and line; file is a rank, see history_path; line 0: none */
    uint32_t file;
    uint32_t line;
};

struct event {
    enum fact_scope scope;
    moment at; /* MOMENT_ABSENT for a testing day */
    day_number day;
    uint32_t run;                 /* its run, or NO_RUN */
    uint32_t method_index;        /* of the settings' methods, whose parameters hold; or NO_METHOD */
    struct place place;           /* of the event's own record */
    const struct fact *facts;     /* FACT_COUNT of them; those of other scopes are absent */
    const struct place *sources;  /* by enum fact_source: the records behind the facts */
    struct text setting_files[2]; /* files of SOURCE_SITE and SOURCE_METHOD, whose `file` says nothing */
};

typedef void walk_function(void *context, const struct event *event);

/* Walks; `function` is called at each event from the first run of `first_day` on, or of a later day (DAY_ABSENT: from
 * the first of all). What the walk passes before is carried along without a word, so events and facts are the last part
 * of those of a whole walk. */
void walk_site(const struct history *history, day_number first_day, walk_function *function, void *context);

/* Where a replacement of the analyzer parts two runs into eras though its counter goes on: the last run before and the
 * first after it by number, and how many numbers no row has between them. No pair tells these. */
typedef void parted_function(void *context, uint32_t before, uint32_t after, int64_t missing);
void walk_parted(const struct history *history, parted_function *function, void *context);

/* Facts that look ahead from a run's place, asked for only where a window of affected tests needs them: */
/* the next coded run of its analyzer and method on another known lot, or NO_RUN; */
uint32_t walk_next_lot_change(const struct history *history, uint32_t place);
/* the next codes entry of its analyzer with its lot's code, or absent; */
size_t walk_codes_of(const struct history *history, uint32_t place); /* entries that it may look at */
moment walk_next_code_at(const struct history *history, uint32_t place);
/* the next daily cleaning of its analyzer, or absent. */
moment walk_next_daily_at(const struct history *history, uint32_t place);

#endif
