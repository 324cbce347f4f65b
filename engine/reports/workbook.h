/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A workbook for spreadsheets (ISO/IEC 29500, by libxlsxwriter): sheets of rows, filled from left to right, each cell
 * of the type that it means. Texts are always texts: one that begins with = is no formula. The same cells and day give
 * the same bytes. Rows go to the disk as they are written, so that a sheet may be as long as the format allows.
 *
 *     AUTO(workbook) book = workbook_begin(as_of);
 *     workbook_sheet(book, "Findings", columns, 3);
 *     workbook_text(book, finding->site);
 *     …
 *     workbook_row_end(book);
 *     return workbook_write(book, output, fault); */
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
bool workbook_begin(struct workbook **out, day_number made_on, const char *title, struct fault *fault);
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

bool workbook_write(struct workbook *book, struct output *output, struct fault *fault);

#endif
