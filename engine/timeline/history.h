/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A site's history in memory, as of a day: its runs in one packed array in the order of the time line, its other
 * records on shelves. Made once, then only read; the walk allocates nothing per run. About 150 bytes a run, freed site
 * by site, so memory does not grow with the number of sites.
 *
 * Rows come from the store (history_read) or one by one (examples in rule files). Records dated after as-of are left
 * out, and later cells after it count as absent. Texts belong to the history's arena, names to the store's table. */
#ifndef ASSIZE_TIMELINE_HISTORY_H
#define ASSIZE_TIMELINE_HISTORY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/calendar.h"
#include "base/map.h"
#include "intake/settings.h"
#include "records/cell.h"
#include "store/store.h"
#include "timeline/shelf.h"

enum { NO_METHOD = UINT16_MAX };
#define NO_RUN UINT32_MAX

enum control_state {
    CONTROL_UNJUDGED, /* its lot and level are not on the log, or give no limits and it is not marked as not accepted */
    CONTROL_GOOD,
    CONTROL_FAILED,
};
enum accepted { ACCEPTED_ABSENT, ACCEPTED_NO, ACCEPTED_YES };

struct run {                                                        /* a patient test or a control */
    moment at, collected_at, reported_at, notified_at, recorded_at; /* MOMENT_ABSENT */
    int64_t sequence;
    double number;     /* of a number, and the N of <N and >N; in the method's unit where that could be had */
    const char *words; /* test id, NUL, specimen, NUL, result as written, NUL */
    uint32_t analyzer, method, operator_, lot, code, unit, control_lot, level; /* names, 0 where absent */
    uint32_t file, line;
    uint16_t specimen_at, result_at; /* where they begin in `words` */
    uint16_t method_index;           /* of settings->methods, or NO_METHOD */
    uint8_t turn;                    /* in that second (order.c) */
    uint8_t second;                  /* of its minute, that it counts as run in (order.c) */
    uint8_t is_control : 1, has_sequence : 1, noted : 1, converted : 1, other_unit : 1;
    uint8_t limited : 1;    /* a control whose lot and level give limits */
    uint8_t within : 1;     /* it is within them, whatever its mark */
    uint8_t takes_back : 1; /* a good control that surely came after all failed ones of its level in its minute */
    uint8_t good_later : 1; /* one of its level that takes it back follows in its testing day */
    uint8_t result_kind;    /* enum result_kind */
    uint8_t accepted;       /* enum accepted */
    uint8_t control;        /* enum control_state */
};

struct history_file {
    struct text path;
    const struct record_kind *kind; /* NULL: the name fits no kind */
    uint64_t rows;
    struct text refused; /* why the whole file was refused, absent if it was read */
};

struct method_names { /* a method's own words as names of the store's table; 0 where no record has that word */
    uint32_t method, unit;
    uint32_t *also_units, *levels, *tasks;
};

struct presence_at;

struct history {
    struct arena *arena;
    struct presence_at *overlaps; /* of each run; NULL: nothing is known of them (presence.h) */
    const struct site_settings *settings;
    struct names *names; /* the store's, borrowed */
    day_number as_of;

    struct method_names *method_names; /* as settings->methods */

    struct run *runs; /* in the order of the time line */
    size_t run_count, test_count, control_count;
    struct run *controls; /* while rows come in: runs holds the tests, this the controls */
    size_t run_capacity, control_capacity;

    struct record
        *records[KIND_COUNT]; /* in the order of their time, then file and line; of KIND_TESTS and _CONTROLS none */
    size_t record_count[KIND_COUNT], record_capacity[KIND_COUNT];

    struct history_file *files; /* by path */
    size_t file_count, file_capacity;
    struct stored_refusal *refusals;
    size_t refusal_count, refusal_capacity;
    struct stored_change *changes;
    size_t change_count, change_capacity;
    bool kept[KIND_COUNT]; /* a log of the kind is there, if only with a header or refused */

    struct text *paths; /* of files, by rank: in the order of their bytes */
    size_t path_count;
    struct map *path_ranks; /* name of a path -> rank */

    /* Shelves. Keys: map_key of the ids in the order named; `use` 0 reagent, 1 control. */
    struct shelf operators;     /* operator */
    struct shelf analyzers;     /* analyzer, method */
    struct shelf analyzer_rows; /* analyzer */
    struct shelf lots;          /* lot, method, use, level */
    struct shelf openings;      /* lot */
    struct shelf codes;         /* analyzer */
    struct shelf cleaning;      /* analyzer, task */
    struct shelf training;      /* operator, method */
    struct shelf maintenance;   /* analyzer, place of the event in its column's list */
    struct shelf lot_checks;    /* new lot, method */

    uint32_t *specimens_checked; /* of each entry of lot_checks: different specimens of its lot and method up to it */
};

struct history *history_new(const struct site_settings *settings, struct names *names, day_number as_of);
void history_free(struct history *history);
OWNER(history);

/* Rows, in any order but faster in the order of time; after the last one history_ready. */
void history_row(struct history *history, const struct record_kind *kind, const struct stored_row *row);
void history_file_row(struct history *history, const struct stored_file *file);
void history_refusal(struct history *history, const struct stored_refusal *refusal);
void history_change(struct history *history, const struct stored_change *change);
void history_ready(struct history *history);

bool history_read(struct history **out, struct store *store, const struct site_settings *settings, day_number as_of,
                  struct fault *fault);

/* ---- looking things up ---- */

static inline struct text run_test(const struct run *run) { return text_of(run->words); }
static inline struct text run_specimen(const struct run *run) { return text_of(run->words + run->specimen_at); }
static inline struct text run_result(const struct run *run) { return text_of(run->words + run->result_at); }

const struct method_settings *run_method(const struct history *history, const struct run *run); /* NULL */
day_number history_day(const struct history *history, moment at);
size_t
history_rows(const struct history *history); /* runs, entries, rows refused and rows changed: how much there is */
struct text history_path(const struct history *history, uint32_t file);
const struct record *history_lot(const struct history *history, uint32_t lot, uint32_t method, bool control,
                                 uint32_t level);

static inline const struct cell *record_cell(const struct record *record, int column) { return &record->cells[column]; }
static inline day_number record_day(const struct record *record, int column)
{
    return record->cells[column].present ? (day_number)record->cells[column].whole : DAY_ABSENT;
}
static inline uint32_t record_name(const struct record *record, int column)
{
    return record->cells[column].present ? (uint32_t)record->cells[column].whole : 0;
}

/* The method that a row without one belongs to: the only one among the analyzer's rows in service that day, else the
 * only one among all its rows, else 0. */
uint32_t history_method_of(const struct history *history, uint32_t analyzer, day_number day);

/* A number recorded in one of the method's also_units, in the method's own unit, rounded to ten digits so that a limit
 * is met as exactly as it was written; false if the unit is not one of them. */
bool history_convert(const struct method_settings *method, struct text unit, double number, double *out);

struct control_limits {                                  /* of a control: those of its own lot and level */
    bool has_low, has_high, low_computed, high_computed; /* computed: mean ± limit_sd times sd */
    double low, high;
    struct text word; /* the good word, absent if the limits are numbers */
    bool has_mean;
    double mean, sd; /* as assigned */
};
/* False: the lot and level are not on the log or give no limits; a mean may be there all the same. (controls.c) */
bool history_control_limits(const struct history *history, const struct run *run, struct control_limits *out);

struct competency {         /* how an operator stands for a method on a day, by the training log; days are DAY_ABSENT */
    day_number trained_on;  /* first passed initial assessment */
    day_number assessed_on; /* latest assessment */
    bool failed;            /* one of that latest day failed */
    day_number passed_on;   /* latest pass */
    bool passed_initial;    /* that is the initial one */
    const struct record *latest; /* or NULL */
};
struct competency history_competency(const struct history *history, uint32_t operator_, uint32_t method,
                                     day_number day);
/* The last day that the latest pass lasts; DAY_ABSENT if there is none, or if the latest assessment failed. */
day_number competency_until(const struct competency *competency, int months, int first_year_months);

/* Fills control, limited, within, takes_back and good_later of all controls; called by history_ready. (controls.c) */
void history_judge_controls(struct history *history);
/* Sorts runs and merges the controls in; called by history_ready. (order.c) */
void history_order_runs(struct history *history);

#endif
