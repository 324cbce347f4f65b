/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/beside.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/aside.h"
#include "intake/file.h"
#include "store/inside.h"

char *beside_name(const char *path, const char *ending)
{
    char *name = memory_new(strlen(path) + strlen(ending) + 1);
    sprintf(name, "%s%s", path, ending);
    return name;
}

/* SQLite's file format, 1.5: what ends a journal that is one of several, behind the name of a file that SQLite removes
 * when it plays the journal in. */
static bool names_a_file(const char *journal)
{
    static const unsigned char magic[] = {0xd9, 0xd5, 0x05, 0xf9, 0x20, 0xa1, 0x63, 0xd7};
    unsigned char last[sizeof magic] = {0};
    int file = open(journal, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    bool read_last = file >= 0 && lseek(file, -(off_t)sizeof last, SEEK_END) >= 0 &&
                     read(file, last, sizeof last) == (ssize_t)sizeof last;
    if (file >= 0)
        close(file);
    return read_last && memcmp(last, magic, sizeof magic) == 0;
}

static bool check_one(const char *name, bool is_log_ahead, struct fault *fault)
{
    struct stat status;
    if (stat(name, &status) != 0)
        return true;
    if (!S_ISREG(status.st_mode))
        return fault_set(fault, FAULT_STORE, "%s: is no file: move it away", name);
    if (!is_log_ahead && names_a_file(name))
        return fault_set(fault, FAULT_STORE,
                         "%s: is not assize's, and names a file that would be removed with it: move it away", name);
    if (!is_log_ahead || status.st_size == 0)
        return true;
    return fault_set(fault, FAULT_STORE,
                     "%s: is not assize's, and what it holds would count as the store's: close the program that has "
                     "the store open; if there is none, move it away",
                     name);
}

bool beside_check(const char *path, struct fault *fault)
{
    char *log_ahead = beside_name(path, "-wal"), *journal = beside_name(path, "-journal");
    bool good = check_one(log_ahead, true, fault) && check_one(journal, false, fault);
    memory_free(log_ahead);
    memory_free(journal);
    return good;
}

bool beside_has_journal(const char *path)
{
    char *journal = beside_name(path, "-journal");
    bool there = file_exists(journal);
    memory_free(journal);
    return there;
}

bool beside_remove_journal(const char *path, struct fault *fault)
{
    char *journal = beside_name(path, "-journal");
    bool gone = unlink(journal) == 0 || errno == ENOENT ||
                fault_set(fault, FAULT_STORE, "%s: cannot be removed: %s", journal, strerror(errno));
    memory_free(journal);
    return gone;
}

enum { PIECE = 1 << 16 };

static bool copy_all(int from, int to)
{
    char *piece = memory_new(PIECE);
    ssize_t got;
    while ((got = read(from, piece, PIECE)) > 0)
        for (ssize_t put = 0, n; put < got; put += n)
            if ((n = write(to, piece + put, (size_t)(got - put))) < 0) {
                memory_free(piece);
                return false;
            }
    memory_free(piece);
    return got == 0;
}

static bool copy_file(const char *path, const char *to, struct fault *fault)
{
    int in = open(path, O_RDONLY | O_CLOEXEC), out = open(to, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    bool done = in >= 0 && out >= 0 && copy_all(in, out);
    int error = errno;
    if (in >= 0)
        close(in);
    if (out >= 0 && close(out) != 0 && done) {
        error = errno;
        done = false;
    }
    return done || fault_set(fault, FAULT_STORE, "%s: cannot be copied to %s: %s", path, to, strerror(error));
}

/* A journal holds the pages that the file had, a little more for each, and no file of ours is all holes. */
static bool is_of_a_size(const char *path, const char *journal)
{
    struct stat file, beside;
    return stat(path, &file) == 0 && stat(journal, &beside) == 0 && beside.st_size <= 2 * file.st_size + (1 << 20);
}

static bool copy_with_journal(const char *path, const char *to, struct fault *fault)
{
    char *journal = beside_name(path, "-journal"), *journal_to = beside_name(to, "-journal");
    bool done = (is_of_a_size(path, journal) ||
                 fault_set(fault, FAULT_STORE, "%s: is larger than one of this store can be: move it away", journal)) &&
                copy_file(path, to, fault) && copy_file(journal, journal_to, fault);
    memory_free(journal);
    memory_free(journal_to);
    return done;
}

/* ---- a change that was cut off ---- */

static bool waits_for_journal(const char *path)
{
    struct database database = {0};
    struct fault fault = {0};
    bool waits = database_open(&database, path, SQLITE_OPEN_READONLY, &fault) && database_is_cut_off(&database);
    database_close(&database);
    return waits;
}

/* Tries the journal on a copy, for it may be that of another file. False: why that could not be done. */
static bool try_journal(const char *path, const char *copy, struct alone *mended, struct fault *fault)
{
    struct database database = {0};
    bool played = copy_with_journal(path, copy, fault) &&
                  database_open(&database, copy, SQLITE_OPEN_READWRITE, fault) &&
                  sql_run(&database, "SELECT 1 FROM sqlite_schema", fault); /* plays it in */
    database_close(&database);
    if (played)
        store_look_alone(copy, mended);
    return played;
}

static bool look_with_journal(const char *path, struct alone *mended, struct fault *fault)
{
    char *folder = aside_name(path), *copy = path_join(folder, ASIDE_STORE);
    struct fault why = {0};
    *mended = (struct alone){0};
    bool tried = (mkdir(folder, 0700) == 0 || fault_set(&why, FAULT_STORE, "%s: %s", folder, strerror(errno))) &&
                 try_journal(path, copy, mended, &why);
    aside_remove(folder);
    memory_free(copy);
    memory_free(folder);
    return tried || fault_set(fault, FAULT_STORE, "%s: a change was cut off, and its journal could not be tried: %s",
                              path, why.text);
}

/* A change that was cut off is taken back by its journal, and no earlier one with it: an old journal beside a store
 * that was damaged, or that another program touched, looks the same else. Where no more than the first pages were
 * written, or all but the last, the store may be whole, and only its seal tells that there is something to take back.
 * Where the page with the count was torn, which the journal has, there is no count. */
static bool is_taken_back(const struct alone *now, const struct alone *mended)
{
    bool follows = now->changes == mended->changes || now->changes == mended->changes + 1;
    return mended->whole && (follows || !now->counted) && (!now->whole || !mended->edited);
}

/* A change that was cut off, by a full disk or a power failure, is taken back by its journal. But that may be of
 * another time: a copy was put back, and SQLite would play it in all the same, and spoil it. */
static bool settle_cut_off(const char *path, bool *taken_back, struct fault *fault)
{
    struct alone now = {0}, mended;
    store_look_alone(path, &now);
    if (now.whole && !now.edited)
        return beside_remove_journal(path, fault);
    if (!look_with_journal(path, &mended, fault))
        return false;
    *taken_back = is_taken_back(&now, &mended);
    if (*taken_back)
        return true;
    if (now.whole)
        return beside_remove_journal(path, fault);
    return fault_set(
        fault, FAULT_STORE,
        "%s: a change was cut off, and the journal beside the file does not mend it. Nothing was written: put "
        "back a copy from before that and move the journal away, or move both aside and load the logs anew "
        "(what they said before is lost then)",
        path);
}

bool beside_settle_journal(const char *path, bool writes, bool *taken_back, struct fault *fault)
{
    if (!beside_has_journal(path) || !waits_for_journal(path))
        return true;
    if (writes)
        return settle_cut_off(path, taken_back, fault);
    AUTO(store) writer = NULL;
    if (!store_open(&writer, path, STORE_WRITE, fault))
        return false;
    *taken_back = store_took_back(writer);
    return true;
}
