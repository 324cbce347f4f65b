/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An analyzer day by day: whether it ran tests, whether the day's controls were good, whether it was cleaned, whether
 * the site was open. Days with tests but without what the method asks for each day stand out by a heavy frame and say
 * what is missing. A period of up to six weeks is a calendar; a longer one a strip of days for each month. */
#ifndef ASSIZE_REPORTS_PICTURES_CALENDAR_H
#define ASSIZE_REPORTS_PICTURES_CALENDAR_H

#include "findings/portrait.h"
#include "reports/pictures/drawing.h"

struct drawing *calendar_picture(struct arena *arena, const struct portrait *portrait,
                                 const struct portrait_analyzer *analyzer);

/* What a day lacks, in words; absent where it lacks nothing or nothing is asked. */
struct day_lacks {
    struct text controls; /* "no control", "not judged", "failed", "1 of 2 levels" */
    struct text cleaning; /* "not cleaned" */
};
struct day_lacks day_lacks(struct arena *arena, const struct portrait_analyzer *analyzer,
                           const struct portrait_day *day);

#endif
