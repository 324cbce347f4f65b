/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/lock.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { NOTE_SIZE = 200 };
#define NOTE_BEGIN "process "

struct lock {
    char *path;
    int file;
};

/* Says who holds the lock; the note may not be written yet, or be anything. */
static bool refuse_locked(int file, const char *store, struct fault *fault)
{
    char note[NOTE_SIZE] = "";
    ssize_t size = pread(file, note, sizeof note - 1, 0);
    note[size > 0 ? size : 0] = '\0';
    note[strcspn(note, "\n")] = '\0';
    return fault_set(fault, FAULT_STORE, "%s: locked by %s", store, note[0] != '\0' ? note : "another process");
}

/* Between opening the file and locking it, its holder may have removed it: then the lock is one on a file without a
 * name. */
static bool has_its_name(int file, const char *path)
{
    struct stat held, named;
    return fstat(file, &held) == 0 && stat(path, &named) == 0 && held.st_dev == named.st_dev &&
           held.st_ino == named.st_ino;
}

/* Empty, as it was just made, or with the note of a process that died: anything else is somebody's file. */
static bool is_lock(int file)
{
    char note[sizeof NOTE_BEGIN] = "";
    struct stat status;
    if (fstat(file, &status) != 0 || !S_ISREG(status.st_mode) || status.st_nlink != 1)
        return false;
    return status.st_size == 0 ||
           (pread(file, note, sizeof note - 1, 0) == (ssize_t)sizeof note - 1 && strcmp(note, NOTE_BEGIN) == 0);
}

static bool write_note(int file)
{
    char host[100] = "", since[40] = "", note[NOTE_SIZE];
    struct tm local;
    time_t now = time(NULL);
    if (gethostname(host, sizeof host - 1) != 0)
        host[0] = '\0';
    if (localtime_r(&now, &local) == NULL || strftime(since, sizeof since, " since %Y-%m-%d %H:%M", &local) == 0)
        since[0] = '\0';
    int size = snprintf(note, sizeof note, NOTE_BEGIN "%ld on %s%s\n", (long)getpid(), host, since);
    return ftruncate(file, 0) == 0 && pwrite(file, note, (size_t)size, 0) == size;
}

/* *file is -1 if the lock was gone before it was ours: try again. */
static bool try_lock(const char *path, const char *store, int *file, struct fault *fault)
{
    *file = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0666);
    if (*file < 0)
        return fault_set(fault, FAULT_STORE, "%s: cannot be made: %s", path, strerror(errno));
    if (flock(*file, LOCK_EX | LOCK_NB) != 0) {
        bool held = errno == EWOULDBLOCK;
        held ? refuse_locked(*file, store, fault)
             : fault_set(fault, FAULT_STORE, "%s: cannot be locked: %s", path, strerror(errno));
    } else if (!has_its_name(*file, path)) {
        close(*file);
        *file = -1;
        return true;
    } else if (!is_lock(*file)) {
        fault_set(fault, FAULT_STORE, "%s: is no lock that assize left: move it away", path);
    } else if (write_note(*file)) {
        return true;
    } else {
        fault_set(fault, FAULT_STORE, "%s: cannot be written: %s", path, strerror(errno));
        unlink(path);
    }
    close(*file);
    return false;
}

bool lock_take(struct lock **out, const char *path, struct fault *fault)
{
    struct lock *lock = memory_new(sizeof *lock);
    lock->path = memory_new(strlen(path) + sizeof ".lock");
    sprintf(lock->path, "%s.lock", path);
    bool done;
    do {
        lock->file = -1;
        done = try_lock(lock->path, path, &lock->file, fault);
    } while (done && lock->file < 0);
    if (done) {
        *out = lock;
        return true;
    }
    memory_free(lock->path);
    memory_free(lock);
    return false;
}

void lock_free(struct lock *lock)
{
    if (lock == NULL)
        return;
    unlink(lock->path);
    close(lock->file);
    memory_free(lock->path);
    memory_free(lock);
}
