/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a control chart shows, before it is drawn or printed: points with their values, limits by control lot, spans of
 * reagent lots, and which patterns of the rule controls.multirule cover which controls. Both media read the same plan.
 *
 * Values are the controls' own numbers as long as the lots' limits overlap enough to be read on one scale; else z,
 * standard deviations from the mean of each control's lot. A series without numbers has no values: its words are shown
 * as good or failed. */
#ifndef ASSIZE_REPORTS_PICTURES_CONTROL_PLAN_H
#define ASSIZE_REPORTS_PICTURES_CONTROL_PLAN_H

#include "findings/portrait.h"
#include "reports/pictures/axes.h"

enum { PLAN_TICKS = 8 }; /* steps of the values' axis, at most */

struct plan_point {
    const struct portrait_control *control;
    double value;     /* NaN: it has none on this scale, and is not drawn */
    bool left_out;    /* thinned: its neighbours stand for it */
    bool is_covered;  /* by a pattern */
    struct text says; /* names of the patterns that begin at it, "1-3s, 2-2s"; else absent */
};

struct plan_span {                            /* neighbours in time with the same lot */
    struct text lot;                          /* absent where none was recorded */
    size_t first, last;                       /* points */
    const struct portrait_lot_limits *limits; /* of a control lot; NULL if it has none */
};

struct control_plan {
    struct arena *arena;
    const struct portrait *portrait;
    const struct portrait_series *series;
    bool has_values, uses_z;
    double low, high; /* of the scale of values: limits and what lies not far beyond */
    struct plan_point *points;
    size_t count;
    struct plan_span *control_lots, *lots; /* lots: of the reagent */
    size_t control_lot_count, lot_count;
    size_t states[CONTROL_FAILED + 1]; /* by enum control_state */
    size_t covered, patterns;          /* controls; findings that cover them */
    size_t without_value, left_out;
    struct text title, description;
    struct text notes[2]; /* what is not drawn, and why */
    size_t note_count;
};

/* Borrows portrait and audit. At most some 1,200 points are drawn: of more, in each narrow slice of time, the lowest
 * and the highest of the good, failed, unjudged and covered ones. */
struct control_plan *control_plan_new(struct arena *arena, const struct portrait *portrait,
                                      const struct portrait_series *series, const struct audit *audit,
                                      struct text site);

/* A limit of a lot on the plan's scale: mean + sds * sd, and low and high; NaN if the lot has none. */
double plan_mean(const struct control_plan *plan, const struct portrait_lot_limits *limits, double sds);
double plan_limit(const struct control_plan *plan, const struct portrait_lot_limits *limits, bool high);

#endif
