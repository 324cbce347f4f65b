/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Changes to a log file, byte for byte: a row is added at its end, or cells of a row are filled in; all other bytes of
 * the file stay as they are, whatever its encoding, line ends, order of columns and quoting.
 *
 * What is made is read again as a load would read it: it must have every row that the file had, and the new or changed
 * one must say what it was told to, else there is no result. Nothing is written here. */
#ifndef ASSIZE_INTAKE_LOG_EDIT_H
#define ASSIZE_INTAKE_LOG_EDIT_H

#include <stdbool.h>
#include <stdint.h>

#include "base/output.h"
#include "base/text.h"
#include "intake/encoding.h"
#include "records/kinds.h"

struct edit_cell {
    int column;        /* of the kind */
    struct text value; /* UTF-8, neither empty nor with blanks around it, and one that cell_parse takes */
};

/* `file`: the bytes of a log of the kind. The bytes of the changed file go to `out`. False: `why` says in words why the
 * file cannot take the row: it is refused as a whole, lacks a column, has no such row, a character does not exist in
 * its encoding, … */
bool log_edit_add(const struct record_kind *kind, struct text file, const struct edit_cell *cells, size_t count,
                  struct output *out, char why[WHY_SIZE]);
/* `line`: the first one of the row. */
bool log_edit_change(const struct record_kind *kind, struct text file, uint32_t line, const struct edit_cell *cells,
                     size_t count, struct output *out, char why[WHY_SIZE]);

/* A log of the kind with its header row only, all columns in the order of the table of kinds. */
void log_edit_begin(const struct record_kind *kind, struct output *out);

#endif
