/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Streaks: judged events of one rule at one site become findings.
 *
 * A streak is a longest series of failing events of one subject, in time order, with no met event of that subject
 * between. It becomes a finding when one of its failing events lies in the period. Rules that find "each" keep an event
 * alone; "state" rules judge a subject once. Events a rule does not apply to are not told here, so they neither break
 * nor extend anything. All memory is the arena's that was given. */
#ifndef ASSIZE_FINDINGS_STREAKS_H
#define ASSIZE_FINDINGS_STREAKS_H

#include "findings/finding.h"
#include "timeline/walk.h"

enum finding_shape { SHAPE_STREAK, SHAPE_EACH, SHAPE_STATE };

struct subject { /* texts as names of the site's own table of subjects; 0 absent */
    uint32_t fields[SUBJECT_COUNT];
};

enum when_kind { WHEN_NEVER, WHEN_TIME, WHEN_DAY };

struct when { /* a time, a testing day, or neither (state rules) */
    enum when_kind kind;
    moment at;
    day_number day;
};

struct evidence {
    struct place place;
    struct text setting_file; /* of evidence in settings: file name, or absent */
};

struct streak {
    struct subject subject;
    struct when from, to;
    uint64_t events;
    bool in_period;
    day_number first_day, last_day; /* of the period, on which an event was judged; DAY_ABSENT: none, or a state */
    enum severity severity;
    enum duty duty;
    int attribute;   /* the least place in the rule's attribute list that an event had; -1 none */
    uint32_t *tests; /* places of affected runs, in order of arrival, tests only, perhaps twice */
    size_t test_count, test_capacity;
    struct text *gone; /* ids of affected tests that are no longer on the time line */
    size_t gone_count, gone_capacity;
    struct evidence *evidence; /* in order of arrival, perhaps twice; line 0 in none */
    size_t evidence_count, evidence_capacity;
    struct place last_place; /* the last failing event's record; line 0 if a site rule told it */
    struct text *fills;      /* texts for the places of the rule's `says`, as of the first failing event */
    struct text first_key;   /* id or key of the first failing event, for numbers that would be shared */
};

struct streaks;
/* begun_late: what was before the first event that is told is not known. */
struct streaks *streaks_new(struct arena *arena, enum finding_shape shape, bool begun_late);
void streaks_free(struct streaks *streaks);
OWNER(streaks);

bool streaks_need_met(const struct streaks *streaks); /* if not, a met event need not be told */
/* Begun late, and a subject's first event failed: its streak may have begun before. */
bool streaks_reach_back(const struct streaks *streaks);
/* An event of the subject was met. */
void streaks_met(struct streaks *streaks, const struct subject *subject);

/* An event of the subject failed; returns its streak, for the caller to add tests, evidence and fills (when *first).
 * NULL if nothing can come of it: a rule that finds each event alone, outside the period. */
struct streak *streaks_failed(struct streaks *streaks, const struct subject *subject, struct when when, bool in_period,
                              bool *first);

/* One of its events was judged on that day of the period. */
void streak_add_day(struct streak *streak, day_number day);
void streak_add_test(struct streak *streak, uint32_t place);
void streak_add_evidence(struct streak *streak, struct place place, struct text setting_file);
/* Leaves of each place in its evidence the first. */
void streak_drop_repeated(struct streak *streak);

/* Closes all and hands out those that lie in the period, in the order of their beginning. */
void streaks_end(struct streaks *streaks, void (*function)(void *context, struct streak *streak), void *context);

#endif
