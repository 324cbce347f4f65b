/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Paragraphs for terminals. */
#ifndef ASSIZE_REPORTS_WRAPPED_H
#define ASSIZE_REPORTS_WRAPPED_H

#include "base/output.h"

size_t wrapped_width(void); /* columns: COLUMNS if it is 40 to 200, else 80 */

/* A paragraph, wrapped at blanks; `first` stands before its first line, the others are indented by `indent`. What a log
 * holds cannot steer the terminal. */
void wrapped_print(struct output *output, size_t width, struct text first, size_t indent, struct text text);

#endif
