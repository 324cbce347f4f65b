/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text as markup: the one place where what records say is kept from becoming tags, for HTML and for SVG. */
#ifndef ASSIZE_REPORTS_MARKUP_H
#define ASSIZE_REPORTS_MARKUP_H

#include "base/output.h"

/* Text between tags or in a quoted attribute. What neither HTML nor XML 1.0 allows (controls, bytes that are no UTF-8,
 * U+FFFE and U+FFFF) is shown as the replacement character. */
void markup_text(struct output *output, struct text text);

void markup_put(struct output *output, const char *markup); /* as it is */

#endif
