/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The stores of a program: one, or one of each shard if its sites are loaded in parts. A reader has one of them open at
 * a time, so neither memory nor open files grow with their number. */
#ifndef ASSIZE_STORE_STORES_H
#define ASSIZE_STORE_STORES_H

#include "store/store.h"

struct stores { /* borrowed; numbered from 0 */
    const char *const *paths;
    size_t count;
    struct store *open; /* a lone store that is open already: then no paths are needed. NULL: opened when needed */
};

struct stores stores_of_one(struct store *store);
const char *stores_path(const struct stores *stores, size_t number);

/* `beside`: it belongs to another thread than the one that has stores->open. With a store that is open already the mode
 * is that store's, unless beside. */
struct store_reader;
struct store_reader *store_reader_new(const struct stores *stores, enum store_mode mode, bool beside);
/* The store of that number, open until the next turn; NULL with the fault set. Names of the one before are gone then.
 */
struct store *store_reader_turn(struct store_reader *reader, size_t number, struct fault *fault);
void store_reader_free(struct store_reader *reader);
OWNER(store_reader);

#endif
