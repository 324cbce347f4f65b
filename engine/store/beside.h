/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What lies beside a store's file, and would count as part of it: SQLite's journal, and a log ahead. */
#ifndef ASSIZE_STORE_BESIDE_H
#define ASSIZE_STORE_BESIDE_H

#include <stdbool.h>

#include "base/fault.h"

/* The path with an ending; to be freed. */
char *beside_name(const char *path, const char *ending);

/* A fault where there is a log ahead (WAL), which assize never writes and SQLite would read as the store's own whatever
 * file it was written for; or where the journal is no file, for which SQLite would wait for ever, or names another
 * file, which SQLite would remove. */
bool beside_check(const char *path, struct fault *fault);

/* What SQLite keeps beside a file while it changes it. */
bool beside_has_journal(const char *path);
bool beside_remove_journal(const char *path, struct fault *fault); /* also where there is none */

/* A journal that waits to be played in: one that mends nothing is removed where the store is whole without it, and a
 * fault where it is not. Who only reads has the store opened for writing first. `taken_back` is set where the
 * journal is one that takes a change back, and left else. */
bool beside_settle_journal(const char *path, bool writes, bool *taken_back, struct fault *fault);

#endif
