/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What pictures with axes share: scales, round steps, a time axis, and places for labels that keep apart. */
#ifndef ASSIZE_REPORTS_PICTURES_AXES_H
#define ASSIZE_REPORTS_PICTURES_AXES_H

#include "base/calendar.h"
#include "reports/pictures/drawing.h"

/* Letters of axes and labels, in points. */
#define AXIS_LETTERS 8.5

struct scale { /* values on a line of the sheet */
    double low, high, at_low, at_high;
};
double scale_at(const struct scale *scale, double value); /* a value beyond the scale lies on its end */

/* The step 1, 2 or 5 times a power of ten that gives at most `most` steps in the span; 1 if there is no span. */
double round_step(double span, unsigned most);
/* The round values from low to high, at most `most` + 1: their step and the first of them; returns how many. */
size_t round_ticks(double low, double high, unsigned most, double *step, double *first);
/* A multiple of the step with the decimals that the step has; `minus` as the medium writes it. */
struct text round_print(struct arena *arena, double value, double step, const char *minus);

/* ---- time ---- */

struct time_axis {
    day_number from, to; /* both days are on it */
    double at_low, at_high;
};
double time_axis_at(const struct time_axis *axis, moment at);

struct time_tick {
    day_number day;
    double at;
    char label[16]; /* "1 Oct", "8"; "Oct", "Jan 2027" */
};
enum { TIME_TICKS = 16 };
/* Weeks in a period of a few weeks, else months, quarters or years; returns how many. */
size_t time_axis_ticks(const struct time_axis *axis, struct time_tick ticks[TIME_TICKS]);
void time_axis_draw(struct drawing *drawing, const struct time_axis *axis, double y); /* the letters stand below y */

/* ---- labels ---- */

struct box {
    double left, top, right, bottom;
};

struct labels {       /* start with the picture's frame and room for `capacity` boxes of each sort */
    struct box frame; /* labels stay within it */
    struct box *taken, *crowded;
    size_t taken_count, crowded_count, capacity;
};
struct labels labels_new(struct arena *arena, struct box frame, size_t capacity);
void labels_avoid(struct labels *labels, struct box box); /* lines and marks: a label stands there if it must */
void labels_avoid_line(struct labels *labels, struct point from, struct point to);

/* Draws a line of text beside the point where nothing stands, above it first if `above`. Where that cannot be, a text
 * that `must` be there is drawn on a ground of paper over what labels should avoid, but never over another label;
 * others are left out. */
void labels_draw(struct labels *labels, struct drawing *drawing, struct point point, struct text text, bool above,
                 bool must, enum ink ink);

/* Moves the heights of a column of labels apart by at least `gap`, each as little as can be. */
void labels_spread(double *heights, size_t count, double gap);

#endif
