/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes a document as one HTML file that needs nothing else: style and shapes are inside, no script, no network. For
 * screens of any width, light and dark, readers by ear, and paper. Text is kept from becoming tags by markup.h.
 */
#ifndef ASSIZE_REPORTS_HTML_H
#define ASSIZE_REPORTS_HTML_H

#include "base/output.h"
#include "reports/document.h"

void html_write(const struct document *document, struct output *output);

extern const char *const html_style[]; /* the style sheet, line by line, NULL at its end */

#endif
