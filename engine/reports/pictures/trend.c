/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/trend.h"

#include <math.h>

#include "reports/phrases.h"
#include "reports/pictures/marks.h"
#include "stats/intervals.h"

/* The sheet: the plot, months and years below it, then how many tests each month had. */
enum { LEFT = 34, RIGHT = 312, TOP = 16, BOTTOM = 126, MONTHS = BOTTOM + 11, YEARS = MONTHS + 11, COUNTS = YEARS + 13 };

struct trend {
    struct drawing *drawing;
    const struct audit_month *months;
    struct scale shares;
    struct text notes[2];
    size_t note_count;
};

static double x_of(size_t month) { return LEFT + ((double)month + .5) * (RIGHT - LEFT) / PORTRAIT_MONTHS; }

static bool has_share(const struct audit_month *month) { return month->audited && month->tests > 0; }

static double share_of(const struct audit_month *month) { return (double)month->vouched / (double)month->tests; }

bool trend_tells(const struct portrait *portrait)
{
    size_t count = 0;
    for (size_t i = 0; i < PORTRAIT_MONTHS; i++)
        count += has_share(&portrait->months[i]);
    return count > 1;
}

/* From a multiple of ten percent below all intervals, but never from so high up that little looks like much. */
static double lowest_share(const struct audit_month *months)
{
    double low = .8;
    for (size_t i = 0; i < PORTRAIT_MONTHS; i++)
        if (has_share(&months[i]))
            low = fmin(low, floor(wilson_interval(months[i].vouched, months[i].tests).low * 10) / 10);
    return low;
}

static void draw_axis(const struct trend *trend)
{
    int step = trend->shares.low < .5 ? 20 : trend->shares.low < .8 ? 10 : 5;
    int lowest = (int)lround(trend->shares.low * 100);
    for (int percent = 100; percent >= lowest; percent -= step) {
        double y = scale_at(&trend->shares, percent / 100.0);
        drawing_line(trend->drawing, (struct point){LEFT, y}, (struct point){RIGHT, y}, mark_hairline);
        drawing_text(trend->drawing, (struct point){LEFT - 5, y + 2.8}, AXIS_LETTERS, ANCHOR_END, INK_QUIET,
                     text_print(trend->drawing->arena, "%d %%", percent));
    }
    drawing_line(trend->drawing, (struct point){LEFT, BOTTOM}, (struct point){RIGHT, BOTTOM}, mark_quiet);
}

static void draw_months(const struct trend *trend)
{
    for (size_t i = 0; i < PORTRAIT_MONTHS; i++) {
        const struct audit_month *month = &trend->months[i];
        struct civil civil = day_civil(month->from);
        bool last = i + 1 == PORTRAIT_MONTHS;
        drawing_text(trend->drawing, (struct point){x_of(i), MONTHS}, AXIS_LETTERS, ANCHOR_MIDDLE,
                     last ? INK_INK : INK_QUIET, text_of(mark_month(civil.month)));
        if (i == 0 || civil.month == 1)
            drawing_text(trend->drawing, (struct point){x_of(i), YEARS}, AXIS_LETTERS, ANCHOR_MIDDLE, INK_QUIET,
                         text_print(trend->drawing->arena, "%d", civil.year));
        if (!month->audited)
            continue;
        struct text tests = month->tests < 10000
                                ? phrase_number(trend->drawing->arena, month->tests)
                                : text_print(trend->drawing->arena, "%.0fk", floor((double)month->tests / 1000));
        drawing_text(trend->drawing, (struct point){x_of(i), COUNTS}, AXIS_LETTERS, ANCHOR_MIDDLE,
                     last ? INK_INK : INK_QUIET, tests);
    }
    drawing_text(trend->drawing, (struct point){LEFT - 5, COUNTS}, AXIS_LETTERS, ANCHOR_END, INK_QUIET, TEXT("tests"));
}

/* Months that nothing is known of, as one tinted field that says so. */
static void draw_gap(struct trend *trend, size_t first, size_t end)
{
    double half = (x_of(1) - x_of(0)) / 2, left = x_of(first) - half, width = (double)(end - first) * 2 * half;
    drawing_box(trend->drawing, (struct point){left, TOP}, width, BOTTOM - TOP, (struct pen){.fill = INK_TINT});
    struct text says = TEXT("not audited");
    struct point foot = {left + width / 2, (TOP + BOTTOM) / 2.0 + 3};
    if (drawing_text_width(says, AXIS_LETTERS) < width) {
        drawing_text(trend->drawing, foot, AXIS_LETTERS, ANCHOR_MIDDLE, INK_QUIET, says);
        return;
    }
    drawing_text(trend->drawing, foot, AXIS_LETTERS, ANCHOR_MIDDLE, INK_QUIET, TEXT("–"));
    if (trend->note_count == 0)
        trend->notes[trend->note_count++] = TEXT("– in a tinted field: a month that was not audited");
}

static void draw_gaps(struct trend *trend)
{
    for (size_t i = 0, end; i < PORTRAIT_MONTHS; i = end + 1) {
        for (end = i; end < PORTRAIT_MONTHS && !trend->months[end].audited;)
            end++;
        if (end > i)
            draw_gap(trend, i, end);
    }
}

static struct point dot_of(const struct trend *trend, size_t month)
{
    return (struct point){x_of(month), scale_at(&trend->shares, share_of(&trend->months[month]))};
}

static void draw_month(const struct trend *trend, size_t i)
{
    enum ink ink = i + 1 == PORTRAIT_MONTHS ? INK_ACCENT : INK_INK;
    struct interval interval = wilson_interval(trend->months[i].vouched, trend->months[i].tests);
    double x = x_of(i), low = scale_at(&trend->shares, interval.low), high = scale_at(&trend->shares, interval.high);
    struct pen pen = {.stroke = ink, .width = .8};
    drawing_line(trend->drawing, (struct point){x, low}, (struct point){x, high}, pen);
    drawing_line(trend->drawing, (struct point){x - 3, low}, (struct point){x + 3, low}, pen);
    drawing_line(trend->drawing, (struct point){x - 3, high}, (struct point){x + 3, high}, pen);
    drawing_disc(trend->drawing, dot_of(trend, i), i + 1 == PORTRAIT_MONTHS ? 3.2 : 2.4, (struct pen){.fill = ink});
}

static size_t lowest_month(const struct trend *trend)
{
    size_t worst = PORTRAIT_MONTHS;
    for (size_t i = 0; i < PORTRAIT_MONTHS; i++)
        if (has_share(&trend->months[i]) &&
            (worst == PORTRAIT_MONTHS || share_of(&trend->months[i]) < share_of(&trend->months[worst])))
            worst = i;
    return worst;
}

/* The last month and the lowest say their share; the others are read from the axis. */
static void name_month(const struct trend *trend, size_t i)
{
    bool last = i + 1 == PORTRAIT_MONTHS;
    const struct audit_month *month = &trend->months[i];
    double below = scale_at(&trend->shares, wilson_interval(month->vouched, month->tests).low) + 11;
    double above = scale_at(&trend->shares, wilson_interval(month->vouched, month->tests).high) - 5;
    drawing_strong(trend->drawing, (struct point){last ? RIGHT : x_of(i), below < BOTTOM - 1 ? below : above}, 10,
                   last ? ANCHOR_END : ANCHOR_MIDDLE, last ? INK_ACCENT : INK_INK,
                   phrase_share(trend->drawing->arena, month->vouched, month->tests));
}

static struct text description(struct arena *arena, const struct audit_month *months)
{
    AUTO(output) says = output_memory();
    size_t gaps = 0;
    for (size_t i = 0; i < PORTRAIT_MONTHS; i++) {
        const struct audit_month *month = &months[i];
        struct civil civil = day_civil(month->from);
        gaps += !month->audited;
        if (!month->audited)
            continue;
        output_print(says, "%d-%02d: ", civil.year, civil.month);
        if (month->tests == 0)
            output_print(says, "no tests. ");
        else
            output_print(says, "%.*s of %.*s tests (95 %% interval %.*s). ",
                         TEXT_FORMAT(phrase_share(arena, month->vouched, month->tests)),
                         TEXT_FORMAT(phrase_number(arena, month->tests)),
                         TEXT_FORMAT(phrase_interval(arena, month->vouched, month->tests)));
    }
    if (gaps > 0)
        output_print(says, "%zu of %d months were not audited.", gaps, PORTRAIT_MONTHS);
    return output_words(arena, says);
}

static void draw_shares(const struct trend *trend)
{
    for (size_t i = 0; i + 1 < PORTRAIT_MONTHS; i++)
        if (has_share(&trend->months[i]) && has_share(&trend->months[i + 1]))
            drawing_line(trend->drawing, dot_of(trend, i), dot_of(trend, i + 1), mark_quiet);
    for (size_t i = 0; i < PORTRAIT_MONTHS; i++)
        if (has_share(&trend->months[i]))
            draw_month(trend, i);
    size_t worst = lowest_month(trend);
    if (worst + 2 < PORTRAIT_MONTHS)
        name_month(trend, worst);
    if (has_share(&trend->months[PORTRAIT_MONTHS - 1]))
        name_month(trend, PORTRAIT_MONTHS - 1);
}

struct drawing *trend_picture(struct arena *arena, const struct portrait *portrait)
{
    struct trend trend = {
        .drawing = drawing_new(arena, MARKS_WIDTH, COUNTS + 18, TEXT("Tests vouched for in full, month by month"),
                               description(arena, portrait->months)),
        .months = portrait->months,
        .shares = {lowest_share(portrait->months), 1, BOTTOM, TOP},
    };
    draw_gaps(&trend);
    draw_axis(&trend);
    draw_months(&trend);
    draw_shares(&trend);
    trend.notes[trend.note_count++] = TEXT("Bars: 95 % confidence; the more tests, the shorter they are.");
    for (size_t i = 0; i < trend.note_count; i++)
        drawing_text(trend.drawing, (struct point){0, COUNTS + 14 + 11 * (double)i}, AXIS_LETTERS, ANCHOR_START,
                     INK_QUIET, trend.notes[i]);
    trend.drawing->height += 11 * (double)(trend.note_count - 1);
    return trend.drawing;
}
