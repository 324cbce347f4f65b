/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/seal.h"

enum { COUNTER_AT = 24, COUNTER_SIZE = 4, SCHEMA_WITH_SEAL = 4 };

/* Read through SQLite's own handle: to close another one on the same file would give up its locks. */
bool seal_count(struct store *store, int64_t *out, struct fault *fault)
{
    unsigned char counter[COUNTER_SIZE] = {0};
    sqlite3_file *file = NULL;
    int status = sqlite3_file_control(store->database.handle, "main", SQLITE_FCNTL_FILE_POINTER, &file);
    if (status == SQLITE_OK && file != NULL && file->pMethods != NULL)
        status = file->pMethods->xRead(file, counter, COUNTER_SIZE, COUNTER_AT);
    *out = (int64_t)counter[0] << 24 | counter[1] << 16 | counter[2] << 8 | counter[3];
    if (status == SQLITE_OK || status == SQLITE_IOERR_SHORT_READ) /* short: nothing was written yet */
        return true;
    return fault_set(fault, FAULT_STORE, "%s: cannot be read", store->path);
}

bool seal_broken(struct store *store, bool *out, struct fault *fault)
{
    int64_t count = 0, sealed = 0;
    *out = true;
    if (store->schema < SCHEMA_WITH_SEAL)
        return true;
    if (!seal_count(store, &count, fault) ||
        !sql_whole(&store->database, "SELECT coalesce(max(changes), -1) FROM seal", &sealed, fault))
        return false;
    *out = sealed != count;
    return true;
}

bool seal_set(struct store *store, int64_t count, struct fault *fault)
{
    AUTO(query) put = query_new(&store->database, fault, "INSERT INTO seal VALUES(?)");
    return put != NULL && sql_run(&store->database, "DELETE FROM seal", fault) &&
           query_put(put, fault, "i", (count + 1) & 0xFFFFFFFF);
}
