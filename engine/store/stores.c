/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/stores.h"

struct store_reader {
    const struct stores *stores;
    enum store_mode mode;
    bool beside;
    struct store *store; /* its own, of this number; NULL: none yet */
    size_t number;
};

struct stores stores_of_one(struct store *store) { return (struct stores){.count = 1, .open = store}; }

const char *stores_path(const struct stores *stores, size_t number)
{
    return stores->open ? store_path(stores->open) : stores->paths[number];
}

struct store_reader *store_reader_new(const struct stores *stores, enum store_mode mode, bool beside)
{
    struct store_reader *reader = memory_new(sizeof *reader);
    *reader = (struct store_reader){.stores = stores, .mode = mode, .beside = beside};
    return reader;
}

struct store *store_reader_turn(struct store_reader *reader, size_t number, struct fault *fault)
{
    if (reader->stores->open && !reader->beside)
        return reader->stores->open;
    if (reader->store && reader->number == number)
        return reader->store;
    store_free(reader->store);
    reader->store = NULL;
    reader->number = number;
    struct store *store = NULL;
    if (!store_open(&store, stores_path(reader->stores, number), reader->mode, fault))
        return NULL;
    return reader->store = store;
}

void store_reader_free(struct store_reader *reader)
{
    if (!reader)
        return;
    store_free(reader->store);
    memory_free(reader);
}
