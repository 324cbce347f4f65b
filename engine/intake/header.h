/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The header row of a log: which of its cells is which column of the kind, in any order and case. */
#ifndef ASSIZE_INTAKE_HEADER_H
#define ASSIZE_INTAKE_HEADER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"
#include "intake/encoding.h"
#include "records/kinds.h"

struct header {
    int *places; /* by header cell: the column's place in the kind, or one of these */
    size_t width;
};
enum { HEADER_UNKNOWN = -1, HEADER_UNNAMED = -2 };

void header_match(struct header *header, const struct record_kind *kind, const struct text *names, size_t count);
void header_free(struct header *header);

/* A number, a day or a time, perhaps with a slip, and so no name of a column: figures and marks, a T between two. */
bool header_is_figure(struct text cell);

/* Whether a row below the header is one itself, as of a file that was put behind another: it has all names that are
 * needed, or those of `least` columns, HEADER_SURE where values of a record are among them; and nothing where the time
 * or day of a record stands. */
enum { HEADER_LIKELY = 2, HEADER_SURE = 3 };
bool header_may_be(const struct header *header, const struct record_kind *kind, const struct text *cells, size_t count,
                   size_t least);

/* False with `why` in words: a column is named twice (also one that is unknown), or a required one is missing. */
bool header_check(const struct header *header, const struct record_kind *kind, const struct text *names,
                  char why[WHY_SIZE]);

bool header_is_unnamed(const struct header *header, size_t place);
/* The column below the header cell at `place`, NULL if it is none of the kind's. */
const char *header_column(const struct header *header, const struct record_kind *kind, size_t place);
/* The column of the kind whose name is nearest, in any case; NULL. */
const char *header_nearest(const struct record_kind *kind, struct text name);

#endif
