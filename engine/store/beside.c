/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/beside.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

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
    struct stat status;
    bool there = stat(journal, &status) == 0;
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

/* SQLite's file format, 1.3: the magic string, and the application id at byte 68. */
enum { HEADER_SIZE = 72, APPLICATION_AT = 68 };

static bool begins_as_store(const unsigned char first[HEADER_SIZE])
{
    static const unsigned char magic[] = "SQLite format 3", unwritten[HEADER_SIZE] = {0};
    const unsigned char *id = first + APPLICATION_AT;
    uint32_t application = (uint32_t)id[0] << 24 | (uint32_t)id[1] << 16 | (uint32_t)id[2] << 8 | id[3];
    return memcmp(first, unwritten, HEADER_SIZE) == 0 ||
           (memcmp(first, magic, sizeof magic) == 0 && application == APPLICATION_ID);
}

bool beside_is_left_over(const char *path, struct fault *fault)
{
    unsigned char first[HEADER_SIZE] = {0};
    struct stat status = {0};
    if (lstat(path, &status) != 0 && errno == ENOENT)
        return true;
    int file = S_ISREG(status.st_mode) ? open(path, O_RDONLY | O_CLOEXEC) : -1;
    bool is_ours = file >= 0 && read(file, first, sizeof first) >= 0 && begins_as_store(first);
    if (file >= 0)
        close(file);
    return is_ours || fault_set(fault, FAULT_STORE, "%s: is in the way: no store that a load left; move it away", path);
}
