/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The share of patient tests that the records vouch for in full, month by month over a year: a dot a month with its
 * 95 % interval, and what months were not audited.
 *
 * Interval: Wilson EB. Probable inference, the law of succession, and statistical inference. J Am Stat Assoc
 * 1927;22:209-12 (stats/intervals.h). */
#ifndef ASSIZE_REPORTS_PICTURES_TREND_H
#define ASSIZE_REPORTS_PICTURES_TREND_H

#include "findings/portrait.h"
#include "reports/pictures/drawing.h"

/* Are there two months to compare? Else the picture says little more than a sentence would. */
bool trend_tells(const struct portrait *portrait);
struct drawing *trend_picture(struct arena *arena, const struct portrait *portrait);

#endif
