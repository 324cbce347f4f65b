/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Marks and texts that pictures of days, people and lots share. */
#ifndef ASSIZE_REPORTS_PICTURES_MARKS_H
#define ASSIZE_REPORTS_PICTURES_MARKS_H

#include "base/output.h"
#include "reports/pictures/axes.h"

enum { MARKS_WIDTH = 320 }; /* of these pictures: letters stay legible on a narrow screen */

extern const struct pen mark_hairline, mark_quiet, mark_plain, mark_heavy;

void mark_diamond(struct drawing *drawing, struct point at, double half, struct pen pen);
void mark_triangle(struct drawing *drawing, struct point at, double half, struct pen pen);
void mark_cross(struct drawing *drawing, struct point at, double half, struct pen pen);

/* The text, or as much of it as fits, ended by an ellipsis. */
struct text fit_text(struct arena *arena, struct text text, double size, double width);

double mark_day(const struct time_axis *axis, day_number day); /* where the day begins */
const char *mark_month(int month);                             /* Jan, 1 to 12 */
struct text mark_date(struct arena *arena, day_number day);    /* 2026-10-31 */

/* What has been written so far, for a description. */
struct text output_words(struct arena *arena, struct output *output);

/* A time axis with as many labels as there is room for; the letters stand below y. */
void mark_time(struct drawing *drawing, const struct time_axis *axis, double y);
/* A part of the line that stands for the day from which all is seen; its label stands above the first part. */
void mark_as_of(struct drawing *drawing, const struct time_axis *axis, day_number as_of, double top, double bottom);
void mark_as_of_label(struct drawing *drawing, const struct time_axis *axis, day_number as_of, double foot);

struct key { /* a line of marks and what they mean, at the foot of a picture */
    struct drawing *drawing;
    double x, foot;
};
struct point key_mark(const struct key *key); /* where the next mark's middle is */
void key_says(struct key *key, const char *words);

#endif
