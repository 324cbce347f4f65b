/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/seal.h"

#include <string.h>

enum { WRITE_VERSION_AT = 18, WITHOUT_LOG_AHEAD = 1, COUNTER_AT = 24, COUNTER_SIZE = 4, SCHEMA_WITH_SEAL = 4 };

/* Read through SQLite's own handle: to close another one on the same file would give up its locks. */
static bool read_header(struct store *store, size_t at, unsigned char *out, size_t size, struct fault *fault)
{
    sqlite3_file *file = NULL;
    int status = sqlite3_file_control(store->database.handle, "main", SQLITE_FCNTL_FILE_POINTER, &file);
    memset(out, 0, size);
    if (status == SQLITE_OK && file != NULL && file->pMethods != NULL)
        status = file->pMethods->xRead(file, out, (int)size, (sqlite3_int64)at);
    if (status == SQLITE_OK || status == SQLITE_IOERR_SHORT_READ) /* short: nothing was written yet */
        return true;
    return fault_set(fault, FAULT_STORE, "%s: cannot be read", store->path);
}

bool seal_count(struct store *store, int64_t *out, struct fault *fault)
{
    unsigned char counter[COUNTER_SIZE];
    bool read = read_header(store, COUNTER_AT, counter, sizeof counter, fault);
    *out = (int64_t)counter[0] << 24 | counter[1] << 16 | counter[2] << 8 | counter[3];
    return read;
}

/* SQLite's file format, 1.3.1. */
bool seal_has_count(struct store *store)
{
    static const unsigned char magic[] = "SQLite format 3";
    unsigned char first[sizeof magic];
    return read_header(store, 0, first, sizeof first, NULL) && memcmp(first, magic, sizeof magic) == 0;
}

/* Assize never writes a log ahead (WAL); where another program turned that on, changes are not counted any more. */
static bool counts_changes(struct store *store, bool *out, struct fault *fault)
{
    unsigned char version;
    bool read = read_header(store, WRITE_VERSION_AT, &version, 1, fault);
    *out = version <= WITHOUT_LOG_AHEAD;
    return read;
}

bool seal_is_kept(const struct store *store) { return store->schema >= SCHEMA_WITH_SEAL; }

bool seal_broken(struct store *store, bool *out, struct fault *fault)
{
    int64_t count = 0, sealed = 0;
    bool counted = false;
    *out = true;
    if (!seal_is_kept(store)) {
        int64_t seals = 0; /* one that is there all the same: the number of the schema was changed */
        bool read =
            sql_whole(&store->database, "SELECT count(*) FROM sqlite_schema WHERE name = 'seal'", &seals, fault);
        *out = seals > 0;
        return read && seal_count(store, &store->file_count, fault);
    }
    if (!seal_count(store, &count, fault) || !counts_changes(store, &counted, fault) ||
        !sql_whole(&store->database, "SELECT coalesce(max(changes), -1) FROM seal", &sealed, fault))
        return false;
    store->file_count = count;
    *out = sealed != count || !counted;
    return true;
}

bool seal_set(struct store *store, int64_t count, struct fault *fault)
{
    AUTO(query) put = query_new(&store->database, fault, "INSERT INTO seal VALUES(?)");
    return put != NULL && sql_run(&store->database, "DELETE FROM seal", fault) &&
           query_put(put, fault, "i", (count + 1) & 0xFFFFFFFF);
}
