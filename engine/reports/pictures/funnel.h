/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The funnel plot of a program: each site's share of results that are not vouched for against its number of tests, with
 * the limits that chance alone keeps 95 % and 99.8 % of sites within if all had the pooled share. A small site is not
 * called bad by chance, nor a large one good. Limits and their source: funnel_limits in stats/intervals.h; whether
 * a site lies beyond them is told by the exact chance of its own count, as the smooth lines are too narrow for sites of
 * few tests. */
#ifndef ASSIZE_REPORTS_PICTURES_FUNNEL_H
#define ASSIZE_REPORTS_PICTURES_FUNNEL_H

#include "findings/finding.h"
#include "reports/pictures/drawing.h"

/* Sites without tests and sites that were not audited are left out, and the description says how many. Borrows the
 * audit. */
struct drawing *funnel(struct arena *arena, const struct audit *audit);

#endif
