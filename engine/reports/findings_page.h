/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The month's report for the manager, as a document: what cannot be vouched for, what to do first, every finding, and
 * what was not judged. Written by html.h. */
#ifndef ASSIZE_REPORTS_FINDINGS_PAGE_H
#define ASSIZE_REPORTS_FINDINGS_PAGE_H

#include "reports/document.h"
#include "reports/view.h"

struct document *findings_page(const struct view *view); /* borrows the view and its audit */

/* With many sites each one's findings stand on its own page only. */
bool page_is_split(const struct view *view);

/* Its parts in findings_entries.c: the open findings by site, severity and rule; then those set apart. */
void page_open_findings(struct document *document, const struct view *view);
void page_apart_findings(struct document *document, const struct view *view);

#endif
