/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The store's file: opening, making, naming, closing. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "intake/file.h"
#include "store/concern.h"
#include "store/feed.h"
#include "store/inside.h"
#include "store/seal.h"

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

/* A change that was cut off, by a full disk or a power failure, is taken back by the next who opens the store; who only
 * reads must let SQLite write for that. */
static bool take_back_cut_off(struct store *store, const char *path, struct fault *fault)
{
    database_close(&store->database);
    bool done =
        database_open(&store->database, path, SQLITE_OPEN_READWRITE, fault) && !database_is_cut_off(&store->database);
    database_close(&store->database);
    return done ? database_open(&store->database, path, SQLITE_OPEN_READONLY, fault)
                : fault_set(fault, FAULT_STORE,
                            "%s: a change was cut off and cannot be taken back: may not be written to", path);
}

static bool open_file(struct store *store, int flags, struct fault *fault)
{
    const char *path = store->aside ? store->aside : store->path;
    if (!database_open(&store->database, path, flags, fault))
        return false;
    if (flags == SQLITE_OPEN_READONLY && database_is_cut_off(&store->database) &&
        !take_back_cut_off(store, path, fault))
        return false;
    return sql_run(&store->database, "PRAGMA cache_size = -16000", fault) && feed_register(store, fault) &&
           concern_register(store, fault);
}

static void close_file(struct store *store)
{
    query_free(store->finding_past);
    store->finding_past = NULL;
    database_close(&store->database);
}

/* The name of what lies beside a file; to be freed. */
static char *beside(const char *path, const char *ending)
{
    char *name = memory_new(strlen(path) + strlen(ending) + 1);
    sprintf(name, "%s%s", path, ending);
    return name;
}

/* What SQLite keeps beside a file while it changes it; to be freed. */
static char *journal_of(const char *path) { return beside(path, "-journal"); }

static bool has_journal(const char *path)
{
    char *journal = journal_of(path);
    bool there = file_exists(journal);
    memory_free(journal);
    return there;
}

/* SQLite keeps a journal all the same where it could not look at the file. */
static void remove_journal_of(const char *path)
{
    char *journal = journal_of(path);
    unlink(journal);
    memory_free(journal);
}

/* Assize never writes a log ahead (WAL), and SQLite would read one as the store's own, whatever file it was written
 * for. It would wait for ever on what is no file. */
static bool check_beside(const struct store *store, struct fault *fault)
{
    static const char *const endings[] = {"-wal", "-journal"};
    const char *why = NULL;
    for (size_t i = 0; i < 2 && why == NULL; i++) {
        struct stat status = {0};
        char *name = beside(store->path, endings[i]);
        bool there = stat(name, &status) == 0;
        if (there && !S_ISREG(status.st_mode))
            why = "is no file: move it away";
        else if (there && i == 0 && status.st_size > 0)
            why = "is not assize's, and what it holds would count as the store's: close the program that has the store "
                  "open; if there is none, move it away";
        if (why != NULL)
            fault_set(fault, FAULT_STORE, "%s: %s", name, why);
        memory_free(name);
    }
    return why == NULL;
}

static bool refuse_edited(const struct store *store, const char *what, struct fault *fault)
{
    return fault_set(fault, FAULT_STORE,
                     "%s: was changed by another program and is broken: %s. Nothing was written: put back a copy from "
                     "before that, or move it aside and load the logs anew (what they said before is lost then)",
                     store->path, what);
}

/* A load would take what was edited for its own, so nothing is added to such a store unless all of it still fits. Nor
 * to one that a journal was there for: it may be that of another file, which this is a copy of. The definitions are
 * looked at always: the seal can be made to fit. */
static bool check_edited(struct store *store, struct fault *fault)
{
    if (seal_is_kept(store) && !store->edited && !store->was_cut_off) {
        char what[DEFINITION_CHANGE_SIZE];
        return definitions_compare(store, what, fault) && (*what == '\0' || refuse_edited(store, what, fault));
    }
    struct chain_report report;
    if (!store_verify(store, &report, fault))
        return false;
    if (report.whole)
        return sql_run(&store->database, "PRAGMA journal_mode = DELETE", fault); /* so that changes are counted again */
    return refuse_edited(store, report.first_break, fault);
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
    store->was_cut_off = has_journal(store->path);
    if (!open_file(store, writes ? SQLITE_OPEN_READWRITE : SQLITE_OPEN_READONLY, fault) || !is_ours(store, fault) ||
        !seal_broken(store, &store->edited, fault) || !read_names(store, fault))
        return false;
    if (!schema_read(store, fault) || !read_head(store, fault))
        return false;
    if (!writes)
        return true;
    if (!check_edited(store, fault) || !schema_write(store, fault))
        return false;
    name_kinds(store);
    return true;
}

/* ---- a store that is made ---- */

/* A first load that was cut off leaves an SQLite file, which may be empty or begin with bytes that were never written.
 * Anything else is somebody's. */
static bool is_left_over(const char *path, struct fault *fault)
{
    static const char begin[] = "SQLite format 3", unwritten[sizeof begin] = {0};
    char first[sizeof begin] = {0};
    struct stat status = {0};
    if (lstat(path, &status) != 0 && errno == ENOENT)
        return true;
    int file = S_ISREG(status.st_mode) ? open(path, O_RDONLY | O_CLOEXEC) : -1;
    bool is_ours = file >= 0 && read(file, first, sizeof first) >= 0 &&
                   (memcmp(first, begin, sizeof first) == 0 || memcmp(first, unwritten, sizeof first) == 0);
    if (file >= 0)
        close(file);
    return is_ours || fault_set(fault, FAULT_STORE, "%s: is in the way: no store that a load left; move it away", path);
}

static bool name_aside(struct store *store, struct fault *fault)
{
    char *name = beside(store->path, ".new");
    if (is_left_over(name, fault))
        store->aside = name;
    else
        memory_free(name);
    return store->aside != NULL;
}

static bool make_aside(struct store *store, struct fault *fault)
{
    remove_journal_of(store->aside);
    if (unlink(store->aside) != 0 && errno != ENOENT)
        return fault_set(fault, FAULT_STORE, "%s: cannot be removed: %s", store->aside, strerror(errno));
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

/* The name is on the disk only when its folder is. */
static bool sync_file(const char *path, int flags)
{
    int file = open(path, flags | O_CLOEXEC);
    if (file < 0)
        return false;
    bool done = fsync(file) == 0;
    return close(file) == 0 && done;
}

static bool sync_folder_of(const char *path)
{
    char *folder = memory_copy_string(path);
    char *slash = strrchr(folder, '/');
    if (slash != NULL)
        slash[slash == folder] = '\0';
    bool done = sync_file(slash != NULL ? folder : ".", O_RDONLY);
    memory_free(folder);
    return done;
}

/* What fails once it has its name takes the store away again: who is told that the load failed must find none. */
static bool give_name(struct store *store, struct fault *fault)
{
    close_file(store);
    if (!sync_file(store->aside, O_RDWR) || rename(store->aside, store->path) != 0)
        return fault_set(fault, FAULT_STORE, "%s: cannot be written: %s", store->path, strerror(errno));
    remove_journal_of(store->aside);
    memory_free(store->aside);
    store->aside = NULL;
    bool done = sync_folder_of(store->path) ||
                fault_set(fault, FAULT_STORE, "%s: cannot be written: %s", store->path, strerror(errno));
    done = done && open_file(store, SQLITE_OPEN_READWRITE, fault);
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
    if (!check_beside(store, fault))
        return false;
    if (file_exists(store->path)) /* looked at again: another process may have made it before the lock was ours */
        return open_existing(store, fault);
    if (has_journal(store->path))
        return fault_set(fault, FAULT_STORE,
                         "%s-journal: belongs to a store that is not here: put that back, or move this away with it",
                         store->path);
    return name_aside(store, fault) && make_aside(store, fault);
}

bool store_open(struct store **out, const char *path, enum store_mode mode, struct fault *fault)
{
    struct store *store = memory_new(sizeof *store);
    store->path = memory_copy_string(path);
    store->mode = mode;
    store->names = names_new();
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
    if (store->aside != NULL) {
        unlink(store->aside);
        remove_journal_of(store->aside);
    }
    names_free(store->names);
    memory_free(store->aside);
    memory_free(store->path);
    lock_free(store->lock);
    memory_free(store);
}

bool store_was_edited(const struct store *store) { return store->edited; }

const char *store_path(const struct store *store) { return store->path; }

struct names *store_names(struct store *store) { return store->names; }

void store_head(const struct store *store, char out[DIGEST_HEX_SIZE]) { digest_hex(store->head, out); }

/* ---- transactions ---- */

bool store_begin(struct store *store, struct fault *fault)
{
    if (store->mode == STORE_READ)
        return fault_set(fault, FAULT_STORE, "%s: opened for reading only", store->path);
    if (store->database.handle == NULL)
        return fault_set(fault, FAULT_STORE, "%s: not open any more", store->path);
    store->row_count = sqlite3_total_changes(store->database.handle);
    return sql_run(&store->database, "BEGIN IMMEDIATE", fault) && seal_count(store, &store->file_count, fault);
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
           (store->aside == NULL || give_name(store, fault));
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
