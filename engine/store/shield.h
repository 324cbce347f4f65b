/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A row that is still there but refused does not withdraw its record. This finds the refused row behind a record that
 * no good row speaks for:
 *
 * - a refused row whose key can be read in full shields the record of that key, whichever file it stood in;
 * - one whose key can be read in part shields those records of its own file that agree with it in all parts it has;
 * - one without a readable key shields those of its own file that agree with it in all other cells it has;
 * - a row that swallows the rest of its file shields all records of that file: they may stand in what cannot be read.
 *
 * A row in the record's own file comes before one in another: what an unchanged file shields stays where it is. */
#ifndef ASSIZE_STORE_SHIELD_H
#define ASSIZE_STORE_SHIELD_H

#include "store/lists.h"

struct shield;
/* Of all refusals of the kind's files on the list. Borrows the list. */
struct shield *shield_new(const struct store *store, const struct layout *layout, const struct lists *lists);
void shield_free(struct shield *shield);
OWNER(shield);

struct shield_place {
    uint32_t file_name; /* of the path */
    uint32_t line;
};
/* `file_name` is where the record stood. True: the refused row that shields it stands at *place. */
bool shield_find(struct shield *shield, uint32_t file_name, uint32_t line, const struct cell *cells,
                 struct shield_place *place);

#endif
