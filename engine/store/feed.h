/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Feeds packed rows to SQLite as a virtual table, `feed`, so that one INSERT … SELECT takes all rows of a kind at a
 * site: on a whole load that is cheaper than to bind, step and reset a statement for each. */
#ifndef ASSIZE_STORE_FEED_H
#define ASSIZE_STORE_FEED_H

#include "store/gather.h"

/* What is fed, in this order; borrowed. */
struct feed {
    const struct layout *layout;
    const struct lists *lists; /* of the site */
    const struct gathered_row *rows;
    size_t count;
    int64_t load;
};

bool feed_register(struct store *store, struct fault *fault); /* makes store->feed */

#endif
