/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The fix list of a site, for the person who must fix and document each gap: the most urgent first, an entry a gap,
 * with what happened, which results are touched, what to do and what to write down. To tick off and to sign. */
#ifndef ASSIZE_REPORTS_FIXLIST_PAGE_H
#define ASSIZE_REPORTS_FIXLIST_PAGE_H

#include "reports/document.h"
#include "reports/view.h"

struct document *fixlist_page(const struct view *view); /* a view of one site; borrows it and its audit */

#endif
