/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/control_plan.h"

#include <math.h>

#include "reports/pictures/control_words.h"

enum { SLICES = 140, THIN_FROM = 400 };

/* ---- limits ---- */

static bool has_deviation(const struct portrait_lot_limits *limits)
{
    return limits != NULL && limits->has_mean && isfinite(limits->mean) && isfinite(limits->sd) && limits->sd > 0;
}

double plan_mean(const struct control_plan *plan, const struct portrait_lot_limits *limits, double sds)
{
    if (limits == NULL || !limits->has_mean || (sds != 0 && !has_deviation(limits)))
        return NAN;
    if (plan->uses_z)
        return has_deviation(limits) ? sds : NAN;
    return sds == 0 ? limits->mean : limits->mean + sds * limits->sd;
}

double plan_limit(const struct control_plan *plan, const struct portrait_lot_limits *limits, bool high)
{
    if (limits == NULL || !(high ? limits->has_high : limits->has_low))
        return NAN;
    double limit = high ? limits->high : limits->low;
    if (!plan->uses_z)
        return limit;
    return has_deviation(limits) ? (limit - limits->mean) / limits->sd : NAN;
}

static void widen(double value, double *low, double *high)
{
    if (!isfinite(value))
        return;
    *low = isfinite(*low) ? fmin(*low, value) : value;
    *high = isfinite(*high) ? fmax(*high, value) : value;
}

/* The range of one lot's limits: three standard deviations, and low and high. */
static void widen_to_limits(const struct control_plan *plan, const struct portrait_lot_limits *limits, double *low,
                            double *high)
{
    widen(plan_mean(plan, limits, 0), low, high);
    widen(plan_mean(plan, limits, -3), low, high);
    widen(plan_mean(plan, limits, 3), low, high);
    widen(plan_limit(plan, limits, false), low, high);
    widen(plan_limit(plan, limits, true), low, high);
}

/* Lots whose limits lie far from each other would squeeze each other flat on one scale of numbers. */
static bool wants_z(const struct control_plan *plan)
{
    const struct portrait_series *series = plan->series;
    double low = NAN, high = NAN, widest = 0;
    for (size_t i = 0; i < series->limit_count; i++) {
        double lot_low = NAN, lot_high = NAN;
        if (!has_deviation(&series->limits[i]))
            return false;
        widen_to_limits(plan, &series->limits[i], &lot_low, &lot_high);
        widen(lot_low, &low, &high);
        widen(lot_high, &low, &high);
        widest = fmax(widest, lot_high - lot_low);
    }
    return high - low > 2 * widest;
}

/* The scale reaches a little beyond the limits, further for values beyond them, but not so far that one of them makes
 * the others flat. */
static void find_scale(struct control_plan *plan)
{
    double low = NAN, high = NAN, data_low = NAN, data_high = NAN;
    for (size_t i = 0; i < plan->series->limit_count; i++)
        widen_to_limits(plan, &plan->series->limits[i], &low, &high);
    for (size_t i = 0; i < plan->count; i++)
        widen(plan->points[i].value, &data_low, &data_high);
    if (!isfinite(low) || high <= low) {
        widen(data_low, &low, &high);
        widen(data_high, &low, &high);
    }
    double span = high - low;
    if (!isfinite(low)) {
        low = -1;
        high = 1;
    } else if (span <= 0) {
        low -= fmax(1, fabs(low) * .05);
        high += fmax(1, fabs(high) * .05);
    } else {
        double room = .06 * span, most = .4 * span;
        plan->low = fmax(fmin(low, data_low) - room, low - most);
        plan->high = fmin(fmax(high, data_high) + room, high + most);
        return;
    }
    plan->low = low;
    plan->high = high;
}

/* ---- points ---- */

static double value_of(const struct control_plan *plan, const struct portrait_control *control)
{
    double value = plan->uses_z ? (control->has_z ? control->z : NAN) : (control->has_number ? control->number : NAN);
    return isfinite(value) ? value : NAN;
}

static void take_points(struct control_plan *plan)
{
    const struct portrait_series *series = plan->series;
    plan->points = arena_take(plan->arena, (plan->count + 1) * sizeof *plan->points);
    for (size_t i = 0; i < plan->count; i++) {
        const struct portrait_control *control = &series->controls[i];
        plan->points[i] = (struct plan_point){.control = control, .value = value_of(plan, control)};
        plan->states[control->state]++;
        if (plan->has_values && isnan(plan->points[i].value))
            plan->without_value++;
    }
}

static struct plan_span *spans_of(const struct control_plan *plan, bool control_lots, size_t *count)
{
    struct plan_span *spans = arena_take(plan->arena, (plan->count + 1) * sizeof *spans);
    *count = 0;
    for (size_t i = 0; i < plan->count; i++) {
        const struct portrait_control *control = plan->points[i].control;
        struct text lot = control_lots ? control->control_lot : control->lot;
        if (*count > 0 && text_equal(spans[*count - 1].lot, lot)) {
            spans[*count - 1].last = i;
            continue;
        }
        spans[*count] = (struct plan_span){.lot = lot, .first = i, .last = i};
        for (size_t j = 0; control_lots && j < plan->series->limit_count; j++)
            if (text_equal(plan->series->limits[j].control_lot, lot))
                spans[*count].limits = &plan->series->limits[j];
        (*count)++;
    }
    return spans;
}

/* ---- patterns ---- */

static bool same_place(const struct control_plan *plan, const struct finding *finding, struct text site)
{
    const struct portrait_series *series = plan->series;
    struct text level = finding->subject[SUBJECT_LEVEL];
    return text_is(finding->rule->id, "controls.multirule") && text_equal(finding->site, site) &&
           text_equal(finding->subject[SUBJECT_ANALYZER], series->analyzer) &&
           text_equal(finding->subject[SUBJECT_METHOD], series->method) &&
           (level.size == 0 || text_equal(level, series->level));
}

/* Where a pattern lies across levels the control that completes it may be another level's: then its day counts. */
static bool covers(const struct finding *finding, moment from, moment to, moment at)
{
    if (finding->subject[SUBJECT_LEVEL].size == 0)
        return moment_day(at, 0) >= moment_day(from, 0) && moment_day(at, 0) <= moment_day(to, 0);
    return moment_compare(at, from) >= 0 && moment_compare(at, to) <= 0;
}

static void mark(struct control_plan *plan, const struct finding *finding)
{
    moment from = 0, to = 0;
    if (!moment_parse(finding->from, &from, NULL) || !moment_parse(finding->to, &to, NULL))
        return;
    bool begun = false;
    for (size_t i = 0; i < plan->count; i++) {
        struct plan_point *point = &plan->points[i];
        if (!covers(finding, from, to, point->control->at))
            continue;
        plan->covered += point->is_covered ? 0 : 1;
        point->is_covered = true;
        if (!begun)
            point->says = point->says.size == 0 ? finding->subject[SUBJECT_DETAIL]
                                                : text_print(plan->arena, "%.*s, %.*s", TEXT_FORMAT(point->says),
                                                             TEXT_FORMAT(finding->subject[SUBJECT_DETAIL]));
        begun = true;
    }
    plan->patterns += begun ? 1 : 0;
}

/* ---- thinning ---- */

static size_t slice_of(const struct control_plan *plan, const struct plan_point *point)
{
    struct time_axis axis = {plan->portrait->from, plan->portrait->to, 0, SLICES};
    double slice = time_axis_at(&axis, point->control->at);
    return slice >= SLICES ? SLICES - 1 : (size_t)slice;
}

/* Of each kind in each slice of time the lowest and the highest stay. */
static void thin(struct control_plan *plan)
{
    enum { KINDS = CONTROL_FAILED + 2 };
    struct plan_point *extremes[SLICES][KINDS][2] = {{{NULL}}};
    for (size_t i = 0; i < plan->count; i++) {
        struct plan_point *point = &plan->points[i];
        int kind = point->is_covered ? CONTROL_FAILED + 1 : (int)point->control->state;
        struct plan_point **pair = extremes[slice_of(plan, point)][kind];
        double value = plan->has_values ? point->value : 0;
        point->left_out = true;
        if (isnan(value))
            continue;
        if (pair[0] == NULL || value < pair[0]->value)
            pair[0] = point;
        if (pair[1] == NULL || value > pair[1]->value)
            pair[1] = point;
    }
    plan->left_out = plan->count;
    for (size_t i = 0; i < (size_t)SLICES * KINDS * 2; i++) {
        struct plan_point *kept = (&extremes[0][0][0])[i];
        if (kept != NULL && kept->left_out) {
            kept->left_out = false;
            plan->left_out--;
        }
    }
}

struct control_plan *control_plan_new(struct arena *arena, const struct portrait *portrait,
                                      const struct portrait_series *series, const struct audit *audit, struct text site)
{
    struct control_plan *plan = arena_take(arena, sizeof *plan);
    *plan =
        (struct control_plan){.arena = arena, .portrait = portrait, .series = series, .count = series->control_count};
    for (size_t i = 0; i < plan->count; i++)
        plan->has_values |= series->controls[i].has_number && isfinite(series->controls[i].number);
    plan->uses_z = plan->has_values && wants_z(plan);
    take_points(plan);
    find_scale(plan);
    plan->control_lots = spans_of(plan, true, &plan->control_lot_count);
    plan->lots = spans_of(plan, false, &plan->lot_count);
    for (size_t i = 0; i < audit->finding_count; i++)
        if (same_place(plan, &audit->findings[i], site))
            mark(plan, &audit->findings[i]);
    if (plan->count > THIN_FROM)
        thin(plan);
    control_words(plan, audit, site);
    return plan;
}
