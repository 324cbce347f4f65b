/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Blank log sheets of a month for those who log by hand: a sheet for each log and analyzer, place or site, with the
 * open days, levels, tasks and places filled in. */
#ifndef ASSIZE_REPORTS_FORMS_PAGE_H
#define ASSIZE_REPORTS_FORMS_PAGE_H

#include "reports/document.h"
#include "timeline/history.h"

/* The sites' histories as of the month's last day or so; they must outlive the page. `title`: of site or program. */
struct document *forms_page(const struct history *const *sites, size_t count, struct text title, day_number first,
                            day_number last);

/* By which days of a month a periodic task is due, so that it never waits longer than `days`: the first open day, and
 * then each time the last open day in time. At least one a month. Fills `out` (31 at most), returns how many. */
size_t forms_task_days(const struct site_settings *settings, day_number first, day_number last, int64_t days,
                       day_number out[31]);

#endif
