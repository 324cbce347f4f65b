/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A blank log sheet: the columns of a record kind to write in by hand. What is the same in every row stands above the
 * table once; what is known of a row beforehand is filled in. */
#ifndef ASSIZE_REPORTS_FORMS_SHEET_H
#define ASSIZE_REPORTS_FORMS_SHEET_H

#include "records/kinds.h"
#include "reports/document.h"

struct sheet {
    struct document *document;
    const struct record_kind *kind;
    bool left_out[COLUMNS_MOST];
    struct text always[COLUMNS_MOST]; /* the same in every row: said above the table, and no column of it */
    struct text row[COLUMNS_MOST];    /* of the next row: what is filled in; the others are blank */
};

/* A sheet of the kind, without the column that tells when an entry was written: on paper that is when it is. */
struct sheet sheet_of(struct document *document, enum kind_id kind);

/* Begins the section and its table; after the rows sheet_end. Heading and `whose`, the month and the site, stand above
 * the table on each page of paper; `about` says on the first one what there is to know. */
void sheet_begin(struct sheet *sheet, struct text id, struct text heading, struct text whose, struct text about);
void sheet_row(struct sheet *sheet); /* a row with what `row` says, which is blank again after it */
void sheet_rows(struct sheet *sheet, size_t count);
void sheet_end(struct sheet *sheet);

struct text column_title(const struct column *column, struct arena *arena); /* "Control lot *": * if it is needed */
/* As the table of kinds says it, with the unit, and without the marks that are meant for the printed dictionary. */
struct text column_meaning(const struct column *column, struct arena *arena);

#endif
