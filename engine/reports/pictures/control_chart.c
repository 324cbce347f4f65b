/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/control_chart.h"

#include <math.h>

#include "reports/pictures/control_plan.h"
#include "reports/pictures/control_words.h"

/* The sheet: a strip of control lots, the plot, the time axis, a strip of reagent lots, the key. */
enum { WIDTH = 360, LEFT = 30, RIGHT = 326, STRIP = 10, TOP = 18, PLOT = 140, PLOT_OF_WORDS = 44 };

struct chart {
    const struct control_plan *plan;
    struct drawing *drawing;
    struct time_axis time;
    struct scale values;
    double bottom; /* of the plot */
    struct labels labels;
};

static const struct pen hairline = {.stroke = INK_LINE, .width = .5};
static const struct pen quiet_line = {.stroke = INK_QUIET, .width = .5};

static struct text keep_print(const struct chart *chart, const char *before, struct text text)
{
    return text_print(chart->drawing->arena, "%s%.*s", before, TEXT_FORMAT(text));
}

static double x_of(const struct chart *chart, size_t point)
{
    return time_axis_at(&chart->time, chart->plan->points[point].control->at);
}

/* Where a span of lots begins and ends: midway to its neighbours, the first and last at the plot's edges. */
static double span_left(const struct chart *chart, const struct plan_span *span)
{
    return span->first == 0 ? LEFT : (x_of(chart, span->first - 1) + x_of(chart, span->first)) / 2;
}

static double span_right(const struct chart *chart, const struct plan_span *span)
{
    return span->last + 1 == chart->plan->count ? RIGHT : (x_of(chart, span->last) + x_of(chart, span->last + 1)) / 2;
}

/* ---- limits ---- */

static void draw_band(const struct chart *chart, const struct plan_span *span)
{
    double low = plan_limit(chart->plan, span->limits, false), high = plan_limit(chart->plan, span->limits, true);
    if (isnan(low) && isnan(high))
        return;
    double top = isnan(high) ? TOP : scale_at(&chart->values, high);
    double bottom = isnan(low) ? chart->bottom : scale_at(&chart->values, low);
    double left = span_left(chart, span);
    drawing_box(chart->drawing, (struct point){left, top}, span_right(chart, span) - left, bottom - top,
                (struct pen){.fill = INK_TINT});
}

static void draw_level_line(struct chart *chart, double value, double left, double right, struct pen pen)
{
    if (isnan(value))
        return;
    double y = scale_at(&chart->values, value);
    drawing_line(chart->drawing, (struct point){left, y}, (struct point){right, y}, pen);
    labels_avoid_line(&chart->labels, (struct point){left, y}, (struct point){right, y});
}

static void draw_limits(struct chart *chart, const struct plan_span *span)
{
    static const struct pen pens[] = {{.stroke = INK_INK, .width = .8},
                                      {.stroke = INK_LINE, .width = .5},
                                      {.stroke = INK_QUIET, .width = .5},
                                      {.stroke = INK_QUIET, .width = .6, .dash = DASH_LONG}};
    const struct portrait_lot_limits *limits = span->limits;
    double left = span_left(chart, span), right = span_right(chart, span);
    for (int sds = -3; sds <= 3; sds++)
        draw_level_line(chart, plan_mean(chart->plan, limits, sds), left, right, pens[sds < 0 ? -sds : sds]);
    for (int high = 0; high < 2; high++)
        draw_level_line(chart, plan_limit(chart->plan, limits, high), left, right, pens[2]);
}

/* What the lines at the right end are called; a name that finds no room between more important ones is left out. */
static void name_limits(const struct chart *chart)
{
    const struct control_plan *plan = chart->plan;
    if (plan->control_lot_count == 0)
        return;
    const struct portrait_lot_limits *limits = plan->control_lots[plan->control_lot_count - 1].limits;
    const struct {
        double value;
        const char *name;
    } lines[] = {
        {plan_mean(plan, limits, 0), "mean"},     {plan_mean(plan, limits, 3), "+3 SD"},
        {plan_mean(plan, limits, -3), "−3 SD"},   {plan_mean(plan, limits, 2), "+2 SD"},
        {plan_mean(plan, limits, -2), "−2 SD"},   {plan_limit(plan, limits, true), "high"},
        {plan_limit(plan, limits, false), "low"},
    };
    enum { LINES = sizeof lines / sizeof *lines };
    double taken[LINES] = {0};
    size_t count = 0;
    for (size_t i = 0; i < LINES; i++) {
        double y = isnan(lines[i].value) ? NAN : scale_at(&chart->values, lines[i].value);
        bool is_free = !isnan(y);
        for (size_t j = 0; j < count; j++)
            is_free = is_free && fabs(taken[j] - y) >= AXIS_LETTERS - 1;
        if (!is_free)
            continue;
        taken[count++] = y;
        drawing_text(chart->drawing, (struct point){RIGHT + 4, y + 2.8}, AXIS_LETTERS, ANCHOR_START,
                     i == 0 ? INK_INK : INK_QUIET, text_of(lines[i].name));
    }
}

static void draw_value_axis(const struct chart *chart)
{
    const struct control_plan *plan = chart->plan;
    double step, first;
    size_t count = round_ticks(plan->low, plan->high, PLAN_TICKS, &step, &first);
    for (size_t i = 0; i < count; i++) {
        double value = first + (double)i * step;
        drawing_text(chart->drawing, (struct point){LEFT - 5, scale_at(&chart->values, value) + 2.8}, AXIS_LETTERS,
                     ANCHOR_END, INK_QUIET, round_print(chart->drawing->arena, value, step, "−"));
    }
    struct text unit = plan->uses_z ? TEXT("SD") : plan->series->unit;
    drawing_text(chart->drawing, (struct point){LEFT - 5, STRIP}, AXIS_LETTERS, ANCHOR_END, INK_QUIET, unit);
}

/* Lanes of a series of words. */
static double lane_of(const struct chart *chart, enum control_state state)
{
    static const double parts[] = {.5, .25, .75};
    return TOP + (chart->bottom - TOP) * parts[state];
}

static void draw_lanes(const struct chart *chart)
{
    static const char *const names[] = {"", "good", "failed"};
    for (int state = CONTROL_GOOD; state <= CONTROL_FAILED; state++) {
        double y = lane_of(chart, (enum control_state)state);
        drawing_line(chart->drawing, (struct point){LEFT, y}, (struct point){RIGHT, y}, hairline);
        drawing_text(chart->drawing, (struct point){RIGHT + 4, y + 2.8}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                     text_of(names[state]));
    }
}

/* ---- lots ---- */

/* A change of the control lot parts the whole plot; one of the reagent lot notches the time axis. */
static void draw_change(const struct chart *chart, double x, double foot, bool of_controls)
{
    double name_top = foot - AXIS_LETTERS + 1;
    if (of_controls) {
        drawing_line(chart->drawing, (struct point){x, name_top}, (struct point){x, chart->bottom}, quiet_line);
        return;
    }
    drawing_line(chart->drawing, (struct point){x, chart->bottom - 5}, (struct point){x, chart->bottom}, quiet_line);
    drawing_line(chart->drawing, (struct point){x, name_top}, (struct point){x, foot + 2}, quiet_line);
}

/* Names along a line, each where its lot begins; one that does not fit before the next is left out. */
static void draw_strip(const struct chart *chart, const struct plan_span *spans, size_t count, double foot,
                       bool of_controls)
{
    for (size_t i = 0; i < count; i++) {
        double left = span_left(chart, &spans[i]), room = span_right(chart, &spans[i]) - left - 4;
        if (i > 0)
            draw_change(chart, left, foot, of_controls);
        struct text lot = spans[i].lot.size > 0 ? spans[i].lot : TEXT("no lot");
        struct text name = i == 0 ? keep_print(chart, of_controls ? "control lot " : "reagent lot ", lot) : lot;
        if (i == 0 && drawing_text_width(name, AXIS_LETTERS) > room) {
            drawing_text(chart->drawing, (struct point){RIGHT + 4, foot}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                         of_controls ? TEXT("control") : TEXT("reagent"));
            name = lot;
        }
        if (drawing_text_width(name, AXIS_LETTERS) > room)
            continue;
        drawing_text(chart->drawing, (struct point){i == 0 ? left : left + 3, foot}, AXIS_LETTERS, ANCHOR_START,
                     INK_INK, name);
    }
}

/* ---- points ---- */

static struct point place_of(const struct chart *chart, size_t index)
{
    const struct plan_point *point = &chart->plan->points[index];
    double y = chart->plan->has_values ? scale_at(&chart->values, point->value) : lane_of(chart, point->control->state);
    return (struct point){x_of(chart, index), isnan(point->value) && chart->plan->has_values ? NAN : y};
}

static bool is_shown(const struct chart *chart, size_t index)
{
    const struct plan_point *point = &chart->plan->points[index];
    return !point->left_out && !(chart->plan->has_values && isnan(point->value));
}

/* Controls of one lot are joined, so that the eye can follow a drift. */
static void draw_joins(struct chart *chart, const struct plan_span *span)
{
    struct point *points = arena_take(chart->drawing->arena, (span->last - span->first + 1) * sizeof *points);
    size_t count = 0;
    for (size_t i = span->first; i <= span->last; i++)
        if (is_shown(chart, i))
            points[count++] = place_of(chart, i);
    drawing_lines(chart->drawing, points, count, chart->plan->left_out > 0 ? hairline : quiet_line);
    for (size_t i = 1; i < count; i++)
        labels_avoid_line(&chart->labels, points[i - 1], points[i]);
}

static void draw_diamond(const struct chart *chart, struct point at, double size, struct pen pen)
{
    const struct point points[] = {{at.x, at.y - size}, {at.x + size, at.y}, {at.x, at.y + size}, {at.x - size, at.y}};
    drawing_area(chart->drawing, points, 4, pen);
}

/* Good: a dot. Failed: a larger hollow diamond. Not judged: a small hollow ring. They differ in outline and ink. */
static void draw_mark(const struct chart *chart, enum control_state state, struct point at)
{
    static const struct pen failed = {.stroke = INK_INK, .fill = INK_PAPER, .width = 1.1};
    static const struct pen unjudged = {.stroke = INK_QUIET, .fill = INK_PAPER, .width = .7};
    double dot = chart->plan->count > 120 ? 1.1 : 1.7, diamond = chart->plan->left_out > 0 ? 2.4 : dot + 2.2;
    if (state == CONTROL_FAILED)
        draw_diamond(chart, at, diamond, failed);
    else if (state == CONTROL_GOOD)
        drawing_disc(chart->drawing, at, dot, (struct pen){.fill = INK_INK});
    else
        drawing_disc(chart->drawing, at, dot, unjudged);
}

static void draw_ring(const struct chart *chart, struct point at)
{
    drawing_disc(chart->drawing, at, 4.6, (struct pen){.stroke = INK_ACCENT, .width = 1.2});
}

static void draw_points(struct chart *chart)
{
    const struct control_plan *plan = chart->plan;
    for (size_t i = 0; i < plan->count; i++)
        if (is_shown(chart, i) && plan->points[i].is_covered)
            draw_ring(chart, place_of(chart, i));
    static const enum control_state order[] = {CONTROL_GOOD, CONTROL_UNJUDGED, CONTROL_FAILED};
    for (size_t kind = 0; kind < 3; kind++)
        for (size_t i = 0; i < plan->count; i++)
            if (is_shown(chart, i) && plan->points[i].control->state == order[kind])
                draw_mark(chart, order[kind], place_of(chart, i));
}

/* What is said of a control: the patterns that begin at it; of one far beyond the scale, which lies on its edge, the
 * result; of a failed word, the word. */
static void name_point(struct chart *chart, size_t index)
{
    const struct control_plan *plan = chart->plan;
    const struct plan_point *point = &plan->points[index];
    struct point at = place_of(chart, index);
    bool above = at.y<(TOP + chart->bottom) / 2, far_up = point->value> plan->high;
    if (!is_shown(chart, index))
        return;
    if (point->says.size > 0)
        labels_draw(&chart->labels, chart->drawing, at, point->says, above, true, INK_ACCENT);
    if (plan->has_values && (far_up || point->value < plan->low))
        labels_draw(&chart->labels, chart->drawing, at, keep_print(chart, far_up ? "↑ " : "↓ ", point->control->result),
                    !far_up, true, INK_INK);
    if (!plan->has_values && point->control->state == CONTROL_FAILED)
        labels_draw(&chart->labels, chart->drawing, at, point->control->result, true, false, INK_INK);
}

static void name_points(struct chart *chart)
{
    for (size_t i = 0; i < chart->plan->count; i++)
        if (is_shown(chart, i)) {
            struct point at = place_of(chart, i);
            labels_avoid(&chart->labels, (struct box){at.x - 2, at.y - 2, at.x + 2, at.y + 2});
        }
    for (size_t i = 0; i < chart->plan->count; i++)
        name_point(chart, i);
}

/* ---- the key ---- */

static double draw_key_word(const struct chart *chart, double x, double foot, struct text word)
{
    drawing_text(chart->drawing, (struct point){x + 11, foot}, AXIS_LETTERS, ANCHOR_START, INK_QUIET, word);
    return x + 11 + drawing_text_width(word, AXIS_LETTERS) + 8;
}

static void draw_key(const struct chart *chart, double foot)
{
    static const enum control_state order[] = {CONTROL_GOOD, CONTROL_FAILED, CONTROL_UNJUDGED};
    double x = LEFT;
    for (size_t i = 0; i < 3; i++) {
        struct text key = control_key(chart->plan, order[i]);
        if (key.size == 0)
            continue;
        draw_mark(chart, order[i], (struct point){x + 4, foot - 2.6});
        x = draw_key_word(chart, x, foot, key);
    }
    struct text covered = control_key_covered(chart->plan);
    if (covered.size > 0) {
        draw_ring(chart, (struct point){x + 4.6, foot - 2.6});
        draw_key_word(chart, x + 1, foot, covered);
    }
    for (size_t i = 0; i < chart->plan->note_count; i++)
        drawing_text(chart->drawing, (struct point){LEFT, foot + 12 * (double)(i + 1)}, AXIS_LETTERS, ANCHOR_START,
                     INK_QUIET, chart->plan->notes[i]);
}

/* Joined points lie over the limits, a crowd of them under. */
static void draw_values(struct chart *chart)
{
    const struct control_plan *plan = chart->plan;
    const struct plan_span *spans = plan->control_lots;
    bool crowd = plan->left_out > 0;
    for (size_t i = 0; i < plan->control_lot_count; i++)
        draw_band(chart, &spans[i]);
    for (size_t i = 0; crowd && i < plan->control_lot_count; i++)
        draw_joins(chart, &spans[i]);
    for (size_t i = 0; i < plan->control_lot_count; i++)
        draw_limits(chart, &spans[i]);
    for (size_t i = 0; !crowd && i < plan->control_lot_count; i++)
        draw_joins(chart, &spans[i]);
    draw_value_axis(chart);
    name_limits(chart);
}

static void draw_plot(struct chart *chart)
{
    if (chart->plan->has_values)
        draw_values(chart);
    else
        draw_lanes(chart);
    drawing_line(chart->drawing, (struct point){LEFT, chart->bottom}, (struct point){RIGHT, chart->bottom}, quiet_line);
    draw_points(chart);
    name_points(chart);
}

struct drawing *control_chart(struct arena *arena, const struct portrait *portrait,
                              const struct portrait_series *series, const struct audit *audit, struct text site)
{
    const struct control_plan *plan = control_plan_new(arena, portrait, series, audit, site);
    double bottom = TOP + (plan->has_values ? PLOT : PLOT_OF_WORDS), key = bottom + 46;
    struct chart chart = {
        .plan = plan,
        .drawing = drawing_new(arena, WIDTH, key + 4 + 12 * (double)plan->note_count, plan->title, plan->description),
        .time = {portrait->from, portrait->to, LEFT, RIGHT},
        .values = {plan->low, plan->high, bottom, TOP},
        .bottom = bottom,
        .labels = labels_new(arena, (struct box){LEFT - 4, TOP - 8, RIGHT + 30, bottom + 2}, 2048),
    };
    if (plan->count == 0) {
        drawing_text(chart.drawing, (struct point){LEFT, 40}, 10, ANCHOR_START, INK_QUIET, plan->description);
        drawing_line(chart.drawing, (struct point){LEFT, bottom}, (struct point){RIGHT, bottom}, quiet_line);
        time_axis_draw(chart.drawing, &chart.time, bottom);
        return chart.drawing;
    }
    draw_strip(&chart, plan->control_lots, plan->control_lot_count, STRIP, true);
    draw_plot(&chart);
    time_axis_draw(chart.drawing, &chart.time, bottom);
    draw_strip(&chart, plan->lots, plan->lot_count, bottom + 25, false);
    draw_key(&chart, key - 4);
    return chart.drawing;
}
