/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What cairo's PDF files lack for readers by ear and for filing: that they are tagged, their language, what each figure
 * shows, which cells name a column or a row, tables and lists in one piece across pages, and an identifier that is the
 * same on each run. Library: qpdf. */
#ifndef ASSIZE_REPORTS_PAPER_FINISH_H
#define ASSIZE_REPORTS_PAPER_FINISH_H

#include "base/fault.h"
#include "base/output.h"
#include "reports/paper/blocks.h"

/* `blocks` says what its figures show, in the order in which they were drawn. */
bool finish_write(struct text drawn, const struct blocks *blocks, struct output *output, struct fault *fault);

#endif
