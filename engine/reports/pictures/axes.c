/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/axes.h"

#include <math.h>
#include <stdio.h>

/* ---- scales ---- */

double scale_at(const struct scale *scale, double value)
{
    double part = (value - scale->low) / (scale->high - scale->low);
    return scale->at_low + fmin(fmax(part, 0), 1) * (scale->at_high - scale->at_low);
}

double round_step(double span, unsigned most)
{
    if (!isfinite(span) || span <= 0 || most == 0)
        return 1;
    double step = pow(10, floor(log10(span / most)));
    static const double times[] = {1, 2, 5, 10};
    for (size_t i = 0; i < 3; i++)
        if (times[i] * step * most >= span * (1 - 1e-9))
            return times[i] * step;
    return 10 * step;
}

size_t round_ticks(double low, double high, unsigned most, double *step, double *first)
{
    *step = round_step(high - low, most);
    double slack = *step * 1e-9;
    *first = ceil((low - slack) / *step) * *step;
    double count = floor((high + slack - *first) / *step) + 1;
    return count >= 1 && count <= most + 1.0 ? (size_t)count : 0;
}

struct text round_print(struct arena *arena, double value, double step, const char *minus)
{
    int decimals = step < 1 ? (int)ceil(-log10(step) - 1e-9) : 0;
    bool below = value < -step / 1e6;
    return text_print(arena, "%s%.*f", below ? minus : "", decimals, fabs(value));
}

/* ---- time ---- */

static double day_at(const struct time_axis *axis, double days)
{
    double part = (days - axis->from) / (axis->to - axis->from + 1.0);
    return axis->at_low + fmin(fmax(part, 0), 1) * (axis->at_high - axis->at_low);
}

double time_axis_at(const struct time_axis *axis, moment at)
{
    return day_at(axis, (double)moment_seconds(at) / 86400);
}

static const char *month_name(int month)
{
    static const char *const names[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                        "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    return names[month - 1];
}

static size_t weeks(const struct time_axis *axis, struct time_tick *ticks)
{
    size_t count = 0;
    int month = 0;
    for (day_number day = axis->from; day <= axis->to && count < TIME_TICKS; day += 7, count++) {
        struct civil civil = day_civil(day);
        ticks[count] = (struct time_tick){.day = day, .at = day_at(axis, day)};
        if (civil.month != month)
            snprintf(ticks[count].label, sizeof ticks->label, "%d %s", civil.day, month_name(civil.month));
        else
            snprintf(ticks[count].label, sizeof ticks->label, "%d", civil.day);
        month = civil.month;
    }
    return count;
}

/* First days of every `step`-th month; years alone where the step is of years. */
static size_t months(const struct time_axis *axis, int step, struct time_tick *ticks)
{
    size_t count = 0;
    struct civil start = day_civil(axis->from);
    start.month = (start.month - 1) / (step < 12 ? step : 12) * (step < 12 ? step : 12) + 1;
    start.day = 1;
    day_number day = 0;
    if (!day_from_civil(start, &day))
        return 0;
    for (; day <= axis->to && count < TIME_TICKS; day = day_add_months(day, step)) {
        struct civil civil = day_civil(day);
        if (day < axis->from)
            continue;
        ticks[count] = (struct time_tick){.day = day, .at = day_at(axis, day)};
        if (step >= 12)
            snprintf(ticks[count].label, sizeof ticks->label, "%d", civil.year);
        else if (count == 0 || civil.month == 1)
            snprintf(ticks[count].label, sizeof ticks->label, "%s %d", month_name(civil.month), civil.year);
        else
            snprintf(ticks[count].label, sizeof ticks->label, "%s", month_name(civil.month));
        count++;
    }
    return count;
}

size_t time_axis_ticks(const struct time_axis *axis, struct time_tick ticks[TIME_TICKS])
{
    static const int steps[] = {1, 2, 3, 6, 12, 24, 60, 120};
    int days = axis->to - axis->from + 1;
    if (days <= 45)
        return weeks(axis, ticks);
    size_t i = 0;
    while (i + 1 < sizeof steps / sizeof *steps && days > 30 * steps[i] * 7)
        i++;
    return months(axis, steps[i], ticks);
}

void time_axis_draw(struct drawing *drawing, const struct time_axis *axis, double y)
{
    struct pen pen = {.stroke = INK_QUIET, .width = .5};
    struct time_tick ticks[TIME_TICKS];
    size_t count = time_axis_ticks(axis, ticks);
    for (size_t i = 0; i < count; i++)
        drawing_line(drawing, (struct point){ticks[i].at, y}, (struct point){ticks[i].at, y + 2.5}, pen);
    for (size_t i = 0; i < count; i++)
        drawing_text(drawing, (struct point){ticks[i].at, y + AXIS_LETTERS + 2}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                     text_keep(drawing->arena, text_of(ticks[i].label)));
}

/* ---- labels ---- */

struct labels labels_new(struct arena *arena, struct box frame, size_t capacity)
{
    size_t size = (capacity + 1) * sizeof(struct box);
    return (struct labels){
        .frame = frame, .taken = arena_take(arena, size), .crowded = arena_take(arena, size), .capacity = capacity};
}

void labels_avoid(struct labels *labels, struct box box)
{
    if (labels->crowded_count < labels->capacity)
        labels->crowded[labels->crowded_count++] = box;
}

void labels_avoid_line(struct labels *labels, struct point from, struct point to)
{
    double length = hypot(to.x - from.x, to.y - from.y);
    bool straight = from.x == to.x || from.y == to.y;
    int steps = straight || !isfinite(length) ? 1 : 1 + (int)fmin(length / 4, 100);
    for (int i = 0; i < steps; i++) {
        double left = from.x + (to.x - from.x) * i / steps, right = from.x + (to.x - from.x) * (i + 1) / steps;
        double y = from.y + (to.y - from.y) * i / steps, next = from.y + (to.y - from.y) * (i + 1) / steps;
        labels_avoid(labels, (struct box){fmin(left, right) - .3, fmin(y, next) - .3, fmax(left, right) + .3,
                                          fmax(y, next) + .3});
    }
}

static bool meets_any(struct box box, const struct box *others, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (box.left < others[i].right && box.right > others[i].left && box.top < others[i].bottom &&
            box.bottom > others[i].top)
            return true;
    return false;
}

static struct box text_box(struct point foot, double width, enum anchor anchor)
{
    double left = foot.x - width / 2 * (double)anchor;
    return (struct box){left, foot.y - AXIS_LETTERS * .72, left + width, foot.y + AXIS_LETTERS * .2};
}

static bool is_free(const struct labels *labels, struct box box, bool over)
{
    const struct box *frame = &labels->frame;
    return box.left >= frame->left && box.right <= frame->right && box.top >= frame->top &&
           box.bottom <= frame->bottom && !meets_any(box, labels->taken, labels->taken_count) &&
           (over || !meets_any(box, labels->crowded, labels->crowded_count));
}

/* The places to try: in two lines above and below, in the middle and to both sides; and level with the point. */
enum { LINES = 2, PLACES = LINES * 6 + 2 };

static struct point place_number(size_t number, struct point point, bool above, enum anchor *anchor)
{
    static const double aside[] = {0, 5, -5};
    if (number >= LINES * 6) {
        *anchor = number % 2 == 0 ? ANCHOR_START : ANCHOR_END;
        return (struct point){point.x + (number % 2 == 0 ? 7 : -7), point.y + AXIS_LETTERS * .3};
    }
    size_t line_number = number / 6;
    double line = (double)line_number * AXIS_LETTERS;
    bool is_up = (number % 6 < 3) == above;
    *anchor = (enum anchor)(number % 3);
    return (struct point){point.x + aside[number % 3],
                          is_up ? point.y - 6.5 - line : point.y + 6.5 + AXIS_LETTERS * .7 + line};
}

void labels_draw(struct labels *labels, struct drawing *drawing, struct point point, struct text text, bool above,
                 bool must, enum ink ink)
{
    double width = drawing_text_width(text, AXIS_LETTERS);
    if (!isfinite(point.x) || !isfinite(point.y) || labels->taken_count == labels->capacity)
        return;
    for (size_t i = 0; i < (size_t)PLACES * (must ? 2 : 1); i++) {
        bool over = i >= PLACES;
        enum anchor anchor;
        struct point foot = place_number(i % PLACES, point, above, &anchor);
        struct box box = text_box(foot, width, anchor);
        if (!is_free(labels, box, over))
            continue;
        if (over)
            drawing_box(drawing, (struct point){box.left, box.top}, width, box.bottom - box.top,
                        (struct pen){.fill = INK_PAPER});
        drawing_strong(drawing, foot, AXIS_LETTERS, anchor, ink, text);
        labels->taken[labels->taken_count++] = box;
        return;
    }
}

void labels_spread(double *heights, size_t count, double gap)
{
    for (size_t round = 0; round < 64; round++) {
        bool moved = false;
        for (size_t i = 0; i < count; i++)
            for (size_t j = i + 1; j < count; j++) {
                double apart = heights[j] - heights[i], missing = gap - fabs(apart);
                if (missing <= 1e-6)
                    continue;
                double shift = copysign(missing / 2 + 1e-7, apart);
                heights[i] -= shift;
                heights[j] += shift;
                moved = true;
            }
        if (!moved)
            return;
    }
}
