/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which records of a site a load has to look at. SQLite asks it for each while it reads them, by functions of its own,
 * and takes the cells only of those that are concerned: the records that stand in files which are parsed as a whole,
 * refused or gone; and wherever they stand, those whose key a gathered row has. */
#ifndef ASSIZE_STORE_CONCERN_H
#define ASSIZE_STORE_CONCERN_H

#include "base/map.h"
#include "store/gather.h"

struct concern { /* borrows all */
    const struct gathering *gathering;
    const struct map *places; /* by a path's name: the file's place on the list, + 1 */
    struct bytes *scratch;
    uint32_t last_name; /* asked for, and its file: most records stand beside others of the same one */
    const struct kept_file *last_file;
};

/* The file that a record stands in, NULL if it is gone. */
const struct kept_file *concern_file(struct concern *concern, uint32_t file_name);

/* Makes the functions known to the store's connection; they answer by what *store->concern then holds. */
bool concern_register(struct store *store, struct fault *fault);

/* The query of rows_query for the concerned records of a site. Bound by concern_bind. */
struct query *concern_query(const struct store *store, const struct layout *layout, struct fault *fault);
void concern_bind(const struct concern *concern, struct query *query);

#endif
