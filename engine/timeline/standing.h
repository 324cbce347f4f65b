/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside of the walk: the standing that is carried along the time line, and the functions that turn it into facts.
 * A bench is one analyzer with one method. */
#ifndef ASSIZE_TIMELINE_STANDING_H
#define ASSIZE_TIMELINE_STANDING_H

#include "timeline/walk.h"

struct level_standing {
    uint32_t last_good;         /* place, or NO_RUN */
    uint64_t tests_before_good; /* tests of the bench up to it */
    bool failed;                /* the latest judged control failed */
    uint32_t last_judged;       /* place, or NO_RUN */
};

struct bench {
    uint32_t analyzer, method;
    uint32_t number;        /* from 1: part of the keys of good_on_lot */
    uint64_t tests;         /* patient tests so far */
    uint32_t last_coded;    /* place of the latest coded run on a known lot with a code, or NO_RUN */
    uint32_t others_failed; /* levels that the method does not list whose latest judged control failed */
    uint32_t other_failed;  /* place of the latest such control */
    size_t level_count;
    struct level_standing levels[]; /* as the method's levels */
};

struct instrument { /* one analyzer, whatever the method */
    uint32_t analyzer;
    uint32_t last_run;     /* place, or NO_RUN */
    day_number day;        /* testing day of last_run */
    bool daily_asked;      /* some run of that day has a method with daily cleaning */
    enum duty daily_by;    /* who asks, of the first such run */
    uint32_t daily_method; /* index of that method */
};

struct walk {
    const struct history *history;
    bool telling; /* the first day of which events are told has begun */
    walk_function *function;
    void *context;
    struct arena *arena;
    struct map *benches;          /* map_key(analyzer, method) -> struct bench * */
    struct map *instruments;      /* map_key(analyzer) -> struct instrument * */
    struct instrument **in_order; /* of first use */
    size_t instrument_count, instrument_capacity;
    uint32_t bench_count;
    struct map *good_on_lot;   /* map_key(bench, level, lot, operator or 0) -> place + 1 of the latest good control */
    struct map *last_good;     /* map_key(analyzer, method, level) -> place + 1 */
    struct map *good_before;   /* likewise, of the latest one in a minute before that one's */
    struct map *others_failed; /* map_key(analyzer, method, level) -> 1 while such a level's latest control failed */
    uint32_t daily;            /* name of the task `daily` */
    struct fact facts[FACT_COUNT];
    struct place sources[SOURCE_COUNT];
    struct event event;
};

/* Setting facts. Absent values (DAY_ABSENT, MOMENT_ABSENT, name 0, absent text or number) leave the fact absent. */
void set_yes(struct walk *walk, enum fact_id id, bool yes);
void set_whole(struct walk *walk, enum fact_id id, int64_t whole);
void set_place(struct walk *walk, enum fact_id id, uint32_t run);
void set_number(struct walk *walk, enum fact_id id, double number);
void set_setting(struct walk *walk, enum fact_id id, struct setting_number setting);
void set_day(struct walk *walk, enum fact_id id, day_number day);
void set_time(struct walk *walk, enum fact_id id, moment at);
void set_name(struct walk *walk, enum fact_id id, uint32_t name);
void set_text(struct walk *walk, enum fact_id id, struct text text);
void set_source(struct walk *walk, enum fact_source source, const struct record *record); /* NULL: none */
void set_source_run(struct walk *walk, enum fact_source source, uint32_t run);            /* NO_RUN: none */
void unset_scope(struct walk *walk, enum fact_scope scope);
void emit(struct walk *walk, enum fact_scope scope);

/* run_facts.c: what other records say at a run */
void facts_of_run(struct walk *walk, const struct run *run, uint32_t place);
/* bench.c: what controls and codes say at a run, and what the run changes for the next ones */
struct bench *bench_of(struct walk *walk, const struct run *run);
struct instrument *instrument_of(struct walk *walk, uint32_t analyzer);
void facts_of_bench(struct walk *walk, const struct bench *bench, const struct run *run, uint32_t place);
void bench_take(struct walk *walk, struct bench *bench, const struct run *run, uint32_t place);
/* clauses.c: a test against each clause of its method's controls */
void walk_clauses(struct walk *walk, const struct bench *bench, const struct run *run);
/* cleaning.c: a run against each periodic task; an analyzer's testing day */
void walk_tasks(struct walk *walk, const struct run *run);
void walk_day(struct walk *walk, const struct instrument *instrument);
/* entries.c and pairs.c */
void walk_entry_of_run(struct walk *walk, const struct run *run);
void walk_other_entries(struct walk *walk);
void walk_pairs(struct walk *walk);

#endif
