/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The store's file: opening, making, naming, closing. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/aside.h"
#include "intake/file.h"
#include "store/beside.h"
#include "store/concern.h"
#include "store/feed.h"
#include "store/inside.h"
#include "store/seal.h"

/* SQLite follows a link, and looks for a journal beside what it leads to. */
static char *resolved(const char *path)
{
    struct stat status;
    char *real = lstat(path, &status) == 0 && S_ISLNK(status.st_mode) ? path_real(path) : NULL;
    char *copy = memory_copy_string(real != NULL ? real : path);
    free(real);
    return copy;
}

static struct store *store_new(const char *path, enum store_mode mode)
{
    struct store *store = memory_new(sizeof *store);
    store->path = resolved(path);
    store->mode = mode;
    store->names = names_new();
    return store;
}

/* ---- a store that is there ---- */

static bool is_ours(struct store *store, struct fault *fault)
{
    int64_t application = 0, version = 0;
    if (!sql_whole(&store->database, "PRAGMA application_id", &application, fault) ||
        !sql_whole(&store->database, "PRAGMA user_version", &version, fault))
        return false;
    if (application != APPLICATION_ID)
        return fault_set(fault, FAULT_STORE, "%s: no store: an SQLite database of another program", store->path);
    store->schema = version;
    if (version < 1)
        return fault_set(fault, FAULT_STORE, "%s: damaged: its schema has the number %lld", store->path,
                         (long long)version);
    if (version > SCHEMA_VERSION)
        return fault_set(fault, FAULT_STORE, "%s: made by a newer assize: schema %d; this one knows schemas up to %d",
                         store->path, (int)version, SCHEMA_VERSION);
    return true;
}

enum { NAMES_GAP_MOST = 1000000 };

/* Numbers stand for names all over the store, so they must not shift: what an edit made unfit gets a name of its own.
 */
static bool name_keep(struct store *store, int64_t number, struct text text, struct fault *fault)
{
    int64_t count = names_count(store->names);
    if (number <= count || number > count + NAMES_GAP_MOST)
        return fault_set(fault, FAULT_STORE, "%s: damaged: the numbers of the table `names` were changed", store->path);
    for (count++; count <= number; count++) {
        if (count == number && names_add(store->names, text) == number)
            break;
        char instead[40];
        int size = snprintf(instead, sizeof instead, "\x1Fname %lld", (long long)count);
        names_add(store->names, (struct text){instead, (size_t)size});
    }
    return true;
}

static bool read_names(struct store *store, struct fault *fault)
{
    AUTO(query) query = query_new(&store->database, fault, "SELECT name, text FROM names ORDER BY name");
    if (query == NULL)
        return false;
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW)
        if (!name_keep(store, query_whole(query, 0), query_text(query, 1), fault))
            return false;
    store->names_stored = names_count(store->names);
    return step == QUERY_END;
}

static int hex_figure(char c) { return c >= '0' && c <= '9' ? c - '0' : c >= 'a' && c <= 'f' ? c - 'a' + 10 : 0; }

static bool read_head(struct store *store, struct fault *fault)
{
    AUTO(query)
    query = query_new(&store->database, fault, "SELECT load, head, day FROM loads ORDER BY load DESC LIMIT 1");
    if (query == NULL)
        return false;
    store->last_load = 0;
    store->last_day = DAY_ABSENT;
    memset(store->head, 0, DIGEST_SIZE);
    enum query_step step = query_step(query, fault);
    if (step != QUERY_ROW)
        return step == QUERY_END;
    store->last_load = query_whole(query, 0);
    store->last_day = (day_number)query_whole(query, 2);
    struct text head = query_text(query, 1);
    for (size_t i = 0; i < DIGEST_SIZE && 2 * i + 1 < head.size; i++)
        store->head[i] = (unsigned char)(hex_figure(head.data[2 * i]) << 4 | hex_figure(head.data[2 * i + 1]));
    return true;
}

/* Kinds stand for themselves by a name, so that their order in the engine may change. */
static void name_kinds(struct store *store)
{
    for (size_t k = 0; k < KIND_COUNT; k++)
        store->layouts[k].kind_name = names_add(store->names, text_of(store->layouts[k].kind->name));
}

static bool open_file(struct store *store, int flags, struct fault *fault)
{
    const char *path = store->aside ? store->aside : store->path;
    bool opened = store->alone ? database_open_alone(&store->database, path, fault)
                               : database_open(&store->database, path, flags, fault);
    return opened && sql_run(&store->database, "PRAGMA cache_size = -16000", fault) && feed_register(store, fault) &&
           concern_register(store, fault);
}

static void close_file(struct store *store)
{
    query_free(store->finding_past);
    store->finding_past = NULL;
    database_close(&store->database);
}

static bool refuse_edited(const struct store *store, const char *what, struct fault *fault)
{
    return fault_set(fault, FAULT_STORE,
                     "%s: was changed by another program and is broken: %s. Nothing was written: put back a copy from "
                     "before that, or move it aside and load the logs anew (what they said before is lost then)",
                     store->path, what);
}

/* A load would take what was edited for its own, so nothing is added to such a store unless all of it still fits. The
 * definitions are looked at always: the seal can be made to fit. */
static bool check_edited(struct store *store, struct fault *fault)
{
    if (seal_is_kept(store) && !store->edited) {
        char what[DEFINITION_CHANGE_SIZE];
        return definitions_compare(store, what, fault) && (*what == '\0' || refuse_edited(store, what, fault));
    }
    struct chain_report report;
    if (!store_verify(store, &report, fault))
        return false;
    if (report.whole) /* so that changes are counted again */
        return sql_run(&store->database, "PRAGMA journal_mode = DELETE", fault) &&
               seal_count(store, &store->file_count, fault);
    return refuse_edited(store, report.first_break, fault);
}

static bool open_existing(struct store *store, struct fault *fault);

void store_look_alone(const char *path, struct alone *out)
{
    AUTO(store) store = store_new(path, STORE_READ);
    struct chain_report report = {0};
    store->alone = true;
    bool looked = open_existing(store, NULL) && store_verify(store, &report, NULL);
    *out = (struct alone){.whole = looked && report.whole, .edited = looked && store->edited};
    out->counted = store->database.handle != NULL && seal_has_count(store) && seal_count(store, &out->changes, NULL);
}

/* In one transaction, for what is read of one load and of the next would seem to be edited. */
static bool read_what_is_kept(struct store *store, struct fault *fault)
{
    return sql_run(&store->database, "BEGIN", fault) && is_ours(store, fault) &&
           seal_broken(store, &store->edited, fault) && read_names(store, fault) && schema_read(store, fault) &&
           read_head(store, fault) && sql_run(&store->database, "COMMIT", fault);
}

static bool open_existing(struct store *store, struct fault *fault)
{
    struct stat status;
    if (stat(store->path, &status) != 0)
        return fault_set(fault, FAULT_STORE, "%s: cannot be read: %s", store->path, strerror(errno));
    if (!S_ISREG(status.st_mode) || status.st_size == 0)
        return fault_set(fault, FAULT_STORE, "%s: no store: %s", store->path,
                         S_ISREG(status.st_mode) ? "the file is empty" : "not a file");
    bool writes = store->mode == STORE_WRITE;
    if ((!store->alone && !beside_settle_journal(store->path, writes, &store->took_back, fault)) ||
        !open_file(store, writes ? SQLITE_OPEN_READWRITE : SQLITE_OPEN_READONLY, fault) ||
        !read_what_is_kept(store, fault))
        return false;
    if (!writes)
        return true;
    if (!check_edited(store, fault) || !schema_write(store, fault))
        return false;
    name_kinds(store);
    return true;
}

/* ---- a store that is made ---- */

/* Of a process that was killed; a folder with anything else in it is somebody's. */
static void remove_left(void *context, const char *left)
{
    struct folder_names names;
    bool is_own = folder_names_read(left, &names);
    (void)context;
    for (size_t i = 0; is_own && i < names.count; i++)
        is_own = strcmp(names.names[i], ASIDE_STORE) == 0 || strcmp(names.names[i], ASIDE_STORE "-journal") == 0;
    folder_names_free(&names);
    if (is_own)
        aside_remove(left);
}

static bool make_aside(struct store *store, struct fault *fault)
{
    aside_remove(store->aside_folder);
    if (mkdir(store->aside_folder, 0777) != 0)
        return fault_set(fault, FAULT_STORE, "%s: cannot be made: %s", store->aside_folder, strerror(errno));
    store->file_count = 0;
    names_free(store->names);
    store->names = names_new();
    store->names_stored = 0;
    /* Nothing to go back to, and nobody else can see it: no journal, no waiting for the disk before it is whole. */
    bool done = open_file(store, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, fault) &&
                sql_run(&store->database, "PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF", fault) &&
                schema_write(store, fault);
    if (done)
        name_kinds(store);
    return done;
}

static void forget_aside(struct store *store)
{
    if (store->aside != NULL)
        aside_remove(store->aside_folder);
    memory_free(store->aside);
    memory_free(store->aside_folder);
    store->aside = store->aside_folder = NULL;
}

static bool sync_file(const char *path)
{
    int file = open(path, O_RDWR | O_CLOEXEC);
    if (file < 0)
        return false;
    bool done = fsync(file) == 0;
    return close(file) == 0 && done;
}

/* A store that was put back meanwhile is not written over; some file systems have no second names. */
static bool link_or_rename(const char *from, const char *to)
{
    return link(from, to) == 0 || (errno != EEXIST && rename(from, to) == 0);
}

/* What fails once it has its name takes the store away again: who is told that the load failed must find none. */
static bool give_name(struct store *store, struct fault *fault)
{
    close_file(store);
    if (!sync_file(store->aside) || !link_or_rename(store->aside, store->path))
        return fault_set(fault, FAULT_STORE, "%s: cannot be written: %s", store->path, strerror(errno));
    forget_aside(store);
    bool done = output_sync_folder_of(store->path, fault) && open_file(store, SQLITE_OPEN_READWRITE, fault);
    if (!done) {
        close_file(store);
        unlink(store->path);
    }
    return done;
}

/* ---- opening and closing ---- */

static bool open_by_mode(struct store *store, struct fault *fault)
{
    bool there = file_exists(store->path);
    if (store->mode == STORE_READ && !there)
        return fault_set(fault, FAULT_STORE, "%s: there is no store yet: `assize load` makes it", store->path);
    if (store->mode == STORE_WRITE && !lock_take(&store->lock, store->path, fault))
        return false;
    if (!beside_check(store->path, fault))
        return false;
    if (store->mode == STORE_WRITE)
        aside_each_left(store->path, remove_left, NULL);
    if (file_exists(store->path)) /* looked at again: another process may have made it before the lock was ours */
        return open_existing(store, fault);
    if (beside_has_journal(store->path))
        return fault_set(fault, FAULT_STORE,
                         "%s-journal: belongs to a store that is not here: put that back, or move this away with it",
                         store->path);
    store->aside_folder = aside_name(store->path);
    store->aside = path_join(store->aside_folder, ASIDE_STORE);
    return make_aside(store, fault);
}

bool store_open(struct store **out, const char *path, enum store_mode mode, struct fault *fault)
{
    struct store *store = store_new(path, mode);
    if (open_by_mode(store, fault)) {
        *out = store;
        return true;
    }
    store_free(store);
    return false;
}

void store_free(struct store *store)
{
    if (store == NULL)
        return;
    close_file(store);
    forget_aside(store);
    names_free(store->names);
    memory_free(store->path);
    lock_free(store->lock);
    memory_free(store);
}

bool store_was_edited(const struct store *store) { return store->edited; }

bool store_took_back(const struct store *store) { return store->took_back; }

bool store_stayed(struct store *store, struct fault *fault)
{
    int64_t count;
    if (!seal_count(store, &count, fault))
        return false;
    return count == store->file_count ||
           fault_set(fault, FAULT_STORE, "%s: was written to while it was read; give the command again", store->path);
}

const char *store_path(const struct store *store) { return store->path; }

struct names *store_names(struct store *store) { return store->names; }

day_number store_loaded_on(const struct store *store) { return store->last_day; }

void store_head(const struct store *store, char out[DIGEST_HEX_SIZE]) { digest_hex(store->head, out); }

/* ---- transactions ---- */

bool store_begin(struct store *store, struct fault *fault)
{
    if (store->mode == STORE_READ)
        return fault_set(fault, FAULT_STORE, "%s: opened for reading only", store->path);
    if (store->database.handle == NULL)
        return fault_set(fault, FAULT_STORE, "%s: not open any more", store->path);
    int64_t count;
    store->row_count = sqlite3_total_changes(store->database.handle);
    if (!sql_run(&store->database, "BEGIN IMMEDIATE", fault))
        return false;
    bool counted = seal_count(store, &count, fault);
    if (counted && (store->aside != NULL || count == store->file_count)) {
        store->file_count = count;
        return true;
    }
    sql_run(&store->database, "ROLLBACK", NULL);
    return counted &&
           fault_set(fault, FAULT_STORE, "%s: was changed by another program while it was open; nothing was written",
                     store->path);
}

static bool seal(struct store *store, struct fault *fault)
{
    bool changed = sqlite3_total_changes(store->database.handle) != store->row_count;
    if (!changed && !store->edited)
        return true;
    store->edited = false;
    return seal_set(store, store->file_count, fault);
}

bool store_commit(struct store *store, struct fault *fault)
{
    return seal(store, fault) && sql_run(&store->database, "COMMIT", fault) &&
           seal_count(store, &store->file_count, fault) && (store->aside == NULL || give_name(store, fault));
}

void store_roll_back(struct store *store)
{
    if (store->aside == NULL) {
        if (store->database.handle != NULL && sql_run(&store->database, "ROLLBACK", NULL))
            read_head(store, NULL);
        return;
    }
    close_file(store);
    if (!make_aside(store, NULL))
        close_file(store);
}
