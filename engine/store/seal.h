/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The seal: how often the store's file had been changed when assize wrote to it last.
 *
 * SQLite counts each change in the header of the file (its file format, section 1.3.7: bytes 24 to 27), so a change by
 * another program shows at once, without reading the tables. Before anything is added to such a store all of its chain
 * is made again from the tables: else a load would take what was edited for its own. Whoever knows of the seal can set
 * it too; store_verify sees what was edited all the same. */
#ifndef ASSIZE_STORE_SEAL_H
#define ASSIZE_STORE_SEAL_H

#include "store/inside.h"

/* Of the file as it is: changes so far. */
bool seal_count(struct store *store, int64_t *out, struct fault *fault);
/* Does it begin as a file of SQLite's does? Else its first page was torn, and the count with it. */
bool seal_has_count(struct store *store);
/* False for stores of a schema without a seal. */
bool seal_is_kept(const struct store *store);
/* Has another program changed the file since, or made it one whose changes are not counted (a log ahead, "WAL")? No,
 * where no seal is kept. Takes the count that it looked at as store->file_count. */
bool seal_broken(struct store *store, bool *out, struct fault *fault);
/* Within the transaction that changes the file, which had `count` changes before. */
bool seal_set(struct store *store, int64_t count, struct fault *fault);

#endif
