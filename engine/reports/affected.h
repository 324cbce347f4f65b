/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The results that a finding affects, as a table of a page: one a row, with the line of the log it stands on. */
#ifndef ASSIZE_REPORTS_AFFECTED_H
#define ASSIZE_REPORTS_AFFECTED_H

#include "findings/finding.h"
#include "reports/document.h"

/* Nothing where no result is affected. A long table is folded; of a very long one, and of all when a page lists very
 * many results, only the first rows stand there, and it says where all are. */
void document_affected(struct document *document, const struct finding *finding);

#endif
