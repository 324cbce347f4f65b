/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The compliance summary of a site, for the inspector: one page that says what the site is and how it stands, then the
 * evidence by requirement with its citations, then pictures of the period, then the corrective actions. To be signed.
 */
#ifndef ASSIZE_REPORTS_SUMMARY_PAGE_H
#define ASSIZE_REPORTS_SUMMARY_PAGE_H

#include "reports/document.h"
#include "reports/view.h"

/* A view of one site, audited with its portrait; borrows it and its audit. */
struct document *summary_page(const struct view *view);

#endif
