/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes a document as a PDF file for filing and printing: pages of A4 that also print on Letter, the same look as the
 * page in a browser (html.h), one embedded font, links and an outline, and tags for readers by ear. What folds on a
 * screen is open. The same document and day give the same bytes on a machine.
 *
 * Characters without a letter appear as a white question mark on black; the last page then says how many there are. */
#ifndef ASSIZE_REPORTS_PDF_H
#define ASSIZE_REPORTS_PDF_H

#include "base/calendar.h"
#include "base/output.h"
#include "reports/document.h"

/* `made_on` becomes the file's date: the as-of day. Faults: the font is missing, or a library gives up. */
bool pdf_write(const struct document *document, day_number made_on, struct output *output, struct fault *fault);

#endif
