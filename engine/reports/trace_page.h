/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The chain behind patient results, for the inspector: for each what stands behind it, link by link, with the verdict
 * of the rules on that link and the line of the record; the good controls on either side; the findings that name it. */
#ifndef ASSIZE_REPORTS_TRACE_PAGE_H
#define ASSIZE_REPORTS_TRACE_PAGE_H

#include "reports/document.h"
#include "rulebook/explain.h"

/* A page that begins; then any number of results; then its end. Borrows all that it is given. */
struct document *trace_page(void);
void trace_result(struct document *page, const struct explanation *explanation, const struct explanations *of);
void trace_end(struct document *page);

#endif
