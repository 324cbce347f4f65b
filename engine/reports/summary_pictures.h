/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pictures of a site's summary, each of which says more than a table would: months, days, controls, people, lots.
 */
#ifndef ASSIZE_REPORTS_SUMMARY_PICTURES_H
#define ASSIZE_REPORTS_SUMMARY_PICTURES_H

#include "reports/document.h"
#include "reports/view.h"

/* A section; of a view of one site with its portrait. */
void summary_pictures(struct document *document, const struct view *view);

#endif
