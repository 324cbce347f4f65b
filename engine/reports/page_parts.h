/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Parts that several pages have alike. */
#ifndef ASSIZE_REPORTS_PAGE_PARTS_H
#define ASSIZE_REPORTS_PAGE_PARTS_H

#include "reports/document.h"
#include "reports/view.h"

struct text page_rule(struct arena *arena, const struct rule_text *rule); /* "No run on a lot past … (lots.expired)" */

/* Which at-risk and breach rules were silent somewhere: the share of results vouched for would not know. */
void page_share_leaves_out(struct document *document, const struct view *view);

/* Whole sections. */
/* What the audit has to say of the records as a whole. Where there are no results they stand on top, or "nothing was
 * found" would reassure; else page_not_judged has them. */
void page_warnings(struct document *document, const struct view *view);
/* All where there is little else to say, else how many there are and where they stand. */
void page_warnings_in_short(struct document *document, const struct view *view);
void page_not_judged(struct document *document, const struct view *view);
void page_cautions(struct document *document);

void page_made_by(struct document *document,
                  const struct audit *audit); /* the foot: version, head of the chain or where it stands */

#endif
