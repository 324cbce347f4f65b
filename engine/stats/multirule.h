/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The multirule: patterns in the series of controls that chance alone seldom makes.
 *
 * z = (result - mean)/sd with the mean and sd assigned to the control lot and level. "Beyond" a limit is strictly
 * beyond; a z is a computed figure, so it must exceed the limit by more than 1e-9 of it (1e-9 at the mean). A value on
 * the mean is on neither side.
 *
 *   within a level   1-3s       one beyond 3 on either side
 *                    2-2s 3-1s 4-1s 6x 8x 10x 12x   so many in a row on one side, beyond 2, 1, 1, 0, 0, 0, 0
 *   across levels    R-4s       in one set one beyond 2 above, another beyond 2 below
 *                    2-2s       in one set two beyond 2 on one side
 *                    2of3-2s    the same in a complete set of three levels
 *                    4-1s 6x 8x 10x 12x   the last complete sets that make up the number exactly, all on one side
 * beyond 1 or 0, with no incomplete set between; where the levels do not divide the number: never
 *
 * The n-th controls of each level in a testing day are the day's n-th set, complete when every level is there. A
 * level's series starts anew when its control lot changes; a change of lot of any level ends the chain of sets. A
 * method with one level has no form across.
 *
 * Source of the patterns: Westgard JO, Barry PL, Hunt MR, Groth T. A multi-rule Shewhart chart for quality control in
 * clinical chemistry. Clin Chem 1981;27:493-501; those for three and more controls are common practice, no source. */
#ifndef ASSIZE_STATS_MULTIRULE_H
#define ASSIZE_STATS_MULTIRULE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/calendar.h"
#include "base/memory.h"
#include "base/text.h"

enum pattern {
    PATTERN_1_3S,
    PATTERN_2_2S,
    PATTERN_3_1S,
    PATTERN_4_1S,
    PATTERN_6X,
    PATTERN_8X,
    PATTERN_10X,
    PATTERN_12X,
    PATTERN_R_4S,
    PATTERN_2OF3_2S,
    PATTERN_COUNT,
};

/* A choice of patterns: one bit each. */
typedef uint32_t pattern_set;
#define PATTERN_BIT(pattern) ((pattern_set)1 << (pattern))

const char *pattern_name(enum pattern pattern);          /* "1-3s" */
bool pattern_named(struct text name, enum pattern *out); /* false: no such pattern */

/* ---- a whole history ---- */

struct multirule_control { /* a control of one analyzer and method that has a z */
    double z;              /* finite */
    uint32_t level;        /* its place in the method's levels, from 0 */
    uint32_t lot;          /* its control lot: any number that is the same for the same lot */
    day_number day;        /* its testing day */
};

struct multirule_hit { /* a pattern was completed */
    enum pattern pattern;
    bool across;      /* the levels; else within the control's level */
    bool begins;      /* the control (set) before it in its series (chain) did not complete the pattern: a new streak */
    uint32_t control; /* which control completed it: the last one of its set, if across */
    uint32_t first;   /* the pattern's first control: of the first set, its first in time */
};

struct multirule { /* hits by control, within before across, by pattern */
    struct multirule_hit *hits;
    size_t hit_count, hit_capacity;
};

/* Evaluates the chosen patterns over `count` controls in the order of time; numbers of controls are places in the
 * array. Domain: every level < level_count, days that never go back. Owned by the caller. */
struct multirule *multirule_evaluate(const struct multirule_control *controls, size_t count, uint32_t level_count,
                                     pattern_set chosen);
void multirule_free(struct multirule *multirule);
OWNER(multirule);

/* ---- one by one: what the evaluation is made of, and what a simulation of run lengths uses ---- */

enum { MULTIRULE_LIMITS = 4 };

struct multirule_series {                                      /* start with {0} */
    uint32_t above[MULTIRULE_LIMITS], below[MULTIRULE_LIMITS]; /* how many in a row up to now, beyond 0, 1, 2, 3 */
};

/* Adds a control to its level's series; returns the patterns it completes within the level. */
pattern_set multirule_add(struct multirule_series *series, double z);

/* Adds a set of `count` controls (at least one) to the chain of sets; returns the patterns it completes across levels.
 */
pattern_set multirule_add_set(struct multirule_series *chain, const double *z, uint32_t count, uint32_t level_count);

/* How many controls in a row a pattern is made of; 1 where a single control or set makes it. */
uint32_t pattern_length(enum pattern pattern);

#endif
