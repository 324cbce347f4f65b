/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A library to be preloaded that makes the n-th call of a kind fail, as a worn disk or a full one would, or ends
 * the process there, or makes it wait.
 *
 *   FAULT_CALL   which calls: write, short (a write of half the bytes, which is no failure), read, sync, rename, open,
 *                close, mkdir, truncate, look (stat and its like), list (reading a folder), remove, lock, memory
 *   FAULT_AT     the number of the call that fails; 0: none does, all are counted
 *   FAULT_ERRNO  what it fails with
 *   FAULT_KILL   set: the process dies at it (SIGKILL), before the call does anything
 *   FAULT_STOP   set: the process stops at it (SIGSTOP) until somebody lets it go on; the call does not fail
 *   FAULT_ON     set: all calls after it fail too
 *   FAULT_COUNT  a file of eight bytes, where the number of calls so far stands when the program has ended
 *
 * Counted are calls that the program, SQLite and the writer of workbooks make; memory is counted whoever asks for it.
 * Streams write within libc, where nothing can be put between: they get cookies whose functions are counted. */
#define _GNU_SOURCE
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#define NEXT(function) ((__typeof__(&function))dlsym(RTLD_NEXT, #function))
#define FAILS(call) (chosen(call) && is_counted_caller(__builtin_return_address(0)) && is_now())

static const char *fault_call;
static long fault_at;
static int fault_errno;
static bool fault_on, fault_kill, fault_stop;
static atomic_long *fault_count;

__attribute__((constructor)) static void start(void)
{
    const char *path = getenv("FAULT_COUNT");
    int file = path ? NEXT(open)(path, O_RDWR) : -1;
    if (file < 0)
        return;
    void *page = mmap(NULL, sizeof *fault_count, PROT_READ | PROT_WRITE, MAP_SHARED, file, 0);
    NEXT(close)(file);
    if (page == MAP_FAILED)
        return;
    fault_count = page;
    fault_at = atol(getenv("FAULT_AT"));
    const char *error = getenv("FAULT_ERRNO");
    fault_errno = error != NULL ? atoi(error) : 0;
    fault_kill = getenv("FAULT_KILL") != NULL;
    fault_on = getenv("FAULT_ON") != NULL;
    fault_stop = getenv("FAULT_STOP") != NULL;
    fault_call = getenv("FAULT_CALL");
}

static bool chosen(const char *call) { return fault_call != NULL && strcmp(fault_call, call) == 0; }

static bool is_counted_caller(void *caller)
{
    static const char *const names[] = {"/assize", "/libsqlite3", "/libxlsxwriter", "/libminizip"};
    Dl_info info;
    if (dladdr(caller, &info) == 0)
        return false;
    const char *name = strrchr(info.dli_fname, '/');
    for (size_t i = 0; name != NULL && i < sizeof names / sizeof *names; i++)
        if (strncmp(name, names[i], strlen(names[i])) == 0)
            return true;
    return false;
}

static bool is_now(void)
{
    long count = atomic_fetch_add(fault_count, 1) + 1;
    if (count != fault_at && !(fault_on && fault_at > 0 && count > fault_at))
        return false;
    if (fault_kill)
        kill(getpid(), SIGKILL);
    if (fault_stop) {
        kill(getpid(), SIGSTOP);
        return false;
    }
    errno = fault_errno;
    return true;
}

/* ---- files ---- */

#define WRITE(function, offset_parameters, ...)                                  \
    ssize_t function(int file, const void *bytes, size_t size offset_parameters) \
    {                                                                            \
        if (FAILS("write"))                                                      \
            return -1;                                                           \
        if (size > 1 && FAILS("short"))                                          \
            size /= 2;                                                           \
        return NEXT(function)(file, bytes, size __VA_ARGS__);                    \
    }
#define READ(function, offset_parameters, ...)                             \
    ssize_t function(int file, void *bytes, size_t size offset_parameters) \
    {                                                                      \
        if (FAILS("read"))                                                 \
            return -1;                                                     \
        return NEXT(function)(file, bytes, size __VA_ARGS__);              \
    }
#define COMMA ,
WRITE(write, )
WRITE(pwrite, COMMA off_t at, COMMA at)
WRITE(pwrite64, COMMA off64_t at, COMMA at)
READ(read, )
READ(pread, COMMA off_t at, COMMA at)
READ(pread64, COMMA off64_t at, COMMA at)

/* A function that fails with a value that is not there. */
#define CALL(call, type, failed, function, parameters, values) \
    type function parameters                                   \
    {                                                          \
        if (FAILS(call))                                       \
            return failed;                                     \
        return NEXT(function) values;                          \
    }
CALL("sync", int, -1, fsync, (int file), (file))
CALL("sync", int, -1, fdatasync, (int file), (file))
CALL("rename", int, -1, rename, (const char *from, const char *to), (from, to))
CALL("rename", int, -1, renameat2, (int at, const char *from, int below, const char *to, unsigned flags),
     (at, from, below, to, flags))
CALL("rename", int, -1, link, (const char *from, const char *to), (from, to))
CALL("mkdir", int, -1, mkdir, (const char *path, mode_t mode), (path, mode))
CALL("truncate", int, -1, ftruncate, (int file, off_t size), (file, size))
CALL("truncate", int, -1, ftruncate64, (int file, off64_t size), (file, size))
CALL("look", int, -1, stat, (const char *path, struct stat *status), (path, status))
CALL("look", int, -1, lstat, (const char *path, struct stat *status), (path, status))
CALL("look", int, -1, fstat, (int file, struct stat *status), (file, status))
CALL("look", int, -1, stat64, (const char *path, struct stat64 *status), (path, status))
CALL("look", int, -1, lstat64, (const char *path, struct stat64 *status), (path, status))
CALL("look", int, -1, fstat64, (int file, struct stat64 *status), (file, status))
CALL("look", int, -1, access, (const char *path, int mode), (path, mode))
CALL("look", char *, NULL, realpath, (const char *path, char *out), (path, out))
CALL("list", DIR *, NULL, opendir, (const char *path), (path))
CALL("list", struct dirent *, NULL, readdir, (DIR * folder), (folder))
CALL("remove", int, -1, unlink, (const char *path), (path))
CALL("remove", int, -1, rmdir, (const char *path), (path))
CALL("remove", int, -1, remove, (const char *path), (path))
CALL("lock", int, -1, flock, (int file, int operation), (file, operation))
CALL("open", int, -1, mkstemp, (char *path), (path))

/* As a network's disk does: the file is closed, but what was written to it is not there. */
int close(int file)
{
    bool fails = FAILS("close");
    int done = NEXT(close)(file);
    if (fails)
        errno = fault_errno;
    return fails ? -1 : done;
}

#define OPEN(function)                             \
    int function(const char *path, int flags, ...) \
    {                                              \
        va_list values;                            \
        va_start(values, flags);                   \
        mode_t mode = va_arg(values, mode_t);      \
        va_end(values);                            \
        if (FAILS("open"))                         \
            return -1;                             \
        return NEXT(function)(path, flags, mode);  \
    }
OPEN(open)
OPEN(open64)

int fcntl64(int file, int command, ...)
{
    va_list values;
    va_start(values, command);
    void *value = va_arg(values, void *);
    va_end(values);
    if ((command == F_SETLK || command == F_SETLKW) && FAILS("lock"))
        return -1;
    return NEXT(fcntl64)(file, command, value);
}

/* ---- streams ---- */

static ssize_t stream_read(void *cookie, char *bytes, size_t size)
{
    return chosen("read") && is_now() ? -1 : NEXT(read)((int)(intptr_t)cookie, bytes, size);
}

/* A cookie says with 0 that it failed. */
static ssize_t stream_write(void *cookie, const char *bytes, size_t size)
{
    if (chosen("write") && is_now())
        return 0;
    ssize_t written = NEXT(write)((int)(intptr_t)cookie, bytes, size);
    return written < 0 ? 0 : written;
}

static int stream_seek(void *cookie, off64_t *at, int from)
{
    *at = lseek64((int)(intptr_t)cookie, *at, from);
    return *at < 0 ? -1 : 0;
}

static int stream_close(void *cookie)
{
    bool fails = chosen("close") && is_now();
    int done = NEXT(close)((int)(intptr_t)cookie);
    if (fails)
        errno = fault_errno;
    return fails ? -1 : done;
}

static FILE *stream_of(int file, const char *mode)
{
    static const cookie_io_functions_t functions = {stream_read, stream_write, stream_seek, stream_close};
    FILE *stream = fopencookie((void *)(intptr_t)file, mode, functions);
    if (stream != NULL)
        stream->_fileno = file;
    return stream;
}

int fileno(FILE *stream) { return stream->_fileno >= 0 ? stream->_fileno : NEXT(fileno)(stream); }

FILE *fdopen(int file, const char *mode)
{
    return is_counted_caller(__builtin_return_address(0)) ? stream_of(file, mode) : NEXT(fdopen)(file, mode);
}

/* The stream that libc opened is given up for one with a cookie. */
static FILE *with_cookie(FILE *opened, const char *mode)
{
    int file = opened != NULL ? dup(NEXT(fileno)(opened)) : -1;
    if (opened != NULL)
        fclose(opened);
    return file < 0 ? NULL : stream_of(file, mode);
}

#define FOPEN(function)                                       \
    FILE *function(const char *path, const char *mode)        \
    {                                                         \
        if (!is_counted_caller(__builtin_return_address(0)))  \
            return NEXT(function)(path, mode);                \
        if (FAILS("open"))                                    \
            return NULL;                                      \
        return with_cookie(NEXT(function)(path, mode), mode); \
    }
FOPEN(fopen)
FOPEN(fopen64)

#define TMPFILE(function)                           \
    FILE *function(void)                            \
    {                                               \
        if (FAILS("open"))                          \
            return NULL;                            \
        return with_cookie(NEXT(function)(), "w+"); \
    }
TMPFILE(tmpfile)
TMPFILE(tmpfile64)

/* ---- memory: what the program's own malloc and its like stand on ---- */

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *block, size_t size);

#define MEMORY(function, parameters, values)                      \
    void *function parameters                                     \
    {                                                             \
        static __typeof__(&function) next;                        \
        if (next == NULL)                                         \
            next = NEXT(function);                                \
        return chosen("memory") && is_now() ? NULL : next values; \
    }
MEMORY(__libc_malloc, (size_t size), (size))
MEMORY(__libc_calloc, (size_t count, size_t size), (count, size))
MEMORY(__libc_realloc, (void *block, size_t size), (block, size))
