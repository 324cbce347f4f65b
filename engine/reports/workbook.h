/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A workbook for spreadsheets (ISO/IEC 29500): sheets of rows, filled from left to right, each cell of the type that it
 * means. Texts are always texts: one that begins with = is no formula. The same cells and day give the same bytes. A
 * sheet is squeezed as its rows come and goes to the output, which is borrowed, when it is whole. Names of sheets are
 * the program's own and need no escapes.
 *
 *     AUTO(workbook) book = workbook_begin(output, as_of, "Findings, October 2026");
 *     workbook_sheet(book, "Findings", columns, 3);
 *     workbook_text(book, finding->site);
 *     …
 *     workbook_row_end(book);
 *     return workbook_write(book, fault); */
#ifndef ASSIZE_REPORTS_WORKBOOK_H
#define ASSIZE_REPORTS_WORKBOOK_H

#include "base/calendar.h"
#include "base/output.h"

struct sheet_column {
    const char *title;
    double width; /* in digits of the usual letters */
};

/* Rows of a sheet, the head with them. Source: Microsoft, "Excel specifications and limits". */
enum { WORKBOOK_ROWS = 1048576 };

struct workbook;
struct workbook *workbook_begin(struct output *output, day_number made_on, const char *title);
void workbook_free(struct workbook *book); /* gives up */
OWNER(workbook);

void workbook_sheet(struct workbook *book, const char *name, const struct sheet_column *columns, size_t count);
void workbook_text(struct workbook *book, struct text text); /* absent or empty: an empty cell */
void workbook_strong(struct workbook *book, struct text text);
void workbook_number(struct workbook *book, uint64_t number);
void workbook_day(struct workbook *book, day_number day);
void workbook_when(struct workbook *book, struct text text); /* a date or time as recorded; a text if it is neither */
void workbook_row_end(struct workbook *book);
void workbook_sheet_end(struct workbook *book); /* a head that stays, and filters over all rows */

bool workbook_write(struct workbook *book, struct fault *fault); /* all that remains; false: too large for the format */

#endif
