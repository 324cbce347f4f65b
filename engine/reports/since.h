/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What became of the findings of earlier audits: closed, gone, or back. */
#ifndef ASSIZE_REPORTS_SINCE_H
#define ASSIZE_REPORTS_SINCE_H

#include "reports/document.h"
#include "reports/view.h"

/* "Since the audit as of 2026-10-31 2 findings were closed. 1 finding came back after the action was closed."; absent
 * if there is nothing to say. */
struct text since_phrase(struct arena *arena, const struct view *view);

/* A section that names them; none if there is nothing to say. */
void page_since(struct document *document, const struct view *view);

#endif
