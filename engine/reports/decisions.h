/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a manager of many sites must decide on: sites with more results in doubt than chance explains, and findings that
 * are overdue or due soon. A section of the findings page. */
#ifndef ASSIZE_REPORTS_DECISIONS_H
#define ASSIZE_REPORTS_DECISIONS_H

#include "reports/document.h"
#include "reports/view.h"

/* Nothing where the audit is of one site. */
void page_decisions(struct document *document, const struct view *view);

#endif
