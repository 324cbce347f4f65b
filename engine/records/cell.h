/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A cell: what a column's text says once it is typed. Parsing, comparing, printing; all by the column's type. */
#ifndef ASSIZE_RECORDS_CELL_H
#define ASSIZE_RECORDS_CELL_H

#include <stdbool.h>
#include <stdint.h>

#include "base/calendar.h"
#include "base/text.h"
#include "records/decimal.h"
#include "records/kinds.h"

/* `whole`: DATE a day_number, TIME a moment, WHOLE the number, YES_NO 1 or 0, WORD the place in the column's list from
 * 0, ID (not plentiful) the number in the names table, once interned; else 0. `text`: as written, blanks around it
 * dropped; borrowed from the file's buffer, or of the store's row. */
struct cell {
    bool present;
    int64_t whole;
    struct text text;
};

/* Whether any text of a fitting length is a value of the type. */
bool cell_takes_any(enum cell_type type);

/* Types `text` (already trimmed and not empty). False: *why says what is wrong, in words without the value
 * ("not a real calendar date", "expected yes or no"), static storage. Words of CELL_WORDS that are not on the column's
 * list pass; `cell_unknown_word` finds them. Ids are not interned here. */
bool cell_parse(const struct column *column, struct text text, struct cell *out, const char **why);

/* Takes words off *list, which is of a CELL_WORDS column, up to the first that is not among the column's. False: no
 * more. */
bool cell_unknown_word(const struct column *column, struct text *list, struct text *word);
/* Takes the next word off *list, without the blanks around it; nothing between two `;` is no word. False: no more. */
bool cell_next_word(struct text *list, struct text *word);

/* Equal once typed: 5.4 and 5.40, 09:00 and 09:00:00, <5 and <5.0 and yes and Y are the same. Both absent: equal. */
bool cell_equal(const struct column *column, const struct cell *a, const struct cell *b);
/* A digest input that is the same for equal cells and differs for others: writes canonical bytes, ended by 0x1F, to
 * `out` and returns how many. `out` needs CELL_CANONICAL_SIZE(cell) bytes: control bytes of free text are escaped. */
#define CELL_CANONICAL_SIZE(cell) (2 * (cell)->text.size + 32)
size_t cell_canonical(const struct column *column, const struct cell *cell, char *out);

/* ---- results ---- */

enum result_kind { RESULT_NUMBER, RESULT_BELOW /* <N */, RESULT_ABOVE /* >N */, RESULT_WORD };

struct result {
    enum result_kind kind;
    double number;    /* of RESULT_NUMBER, and the N of <N and >N; else 0 */
    struct text text; /* the numeral without its sign < or >, or the word */
};

struct result result_of(struct text text);

#endif
