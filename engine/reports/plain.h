/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes a document for a terminal: plain lines of a width, headings underlined, tables with aligned columns and
 * wrapped cells, severities as words. What does not show in a record (controls that could steer the terminal) appears
 * as a question mark. */
#ifndef ASSIZE_REPORTS_PLAIN_H
#define ASSIZE_REPORTS_PLAIN_H

#include "base/output.h"
#include "reports/document.h"

/* `width` in characters, at least 20: wrapped_width() of wrapped.h for a terminal. */
void plain_write(const struct document *document, size_t width, struct output *output);

/* For plain_table.c: the words of a node on one line, without what does not show. */
struct text plain_words(struct arena *arena, struct text text, const struct node *node);
void plain_table(const struct node *table, size_t indent, size_t width, struct output *output);

#endif
