/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700 /* nftw */

#include "base/aside.h"

#include <dirent.h>
#include <errno.h>
#include <ftw.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/memory.h"

#define MARK ".new-"

char *aside_name(const char *path)
{
    size_t size = strlen(path) + 32;
    char *aside = memory_new(size);
    snprintf(aside, size, "%s" MARK "%ld", path, (long)getpid());
    return aside;
}

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *where)
{
    (void)status;
    (void)kind;
    (void)where;
    remove(path);
    return 0;
}

void aside_remove(const char *path) { nftw(path, remove_entry, 8, FTW_DEPTH | FTW_PHYS); }

/* Whether `name` is `stem`.new-N of a process that is gone; one with this process's number was another. */
static bool is_left(const char *name, const char *stem)
{
    size_t size = strlen(stem);
    if (strncmp(name, stem, size) != 0 || strncmp(name + size, MARK, strlen(MARK)) != 0)
        return false;
    char *end;
    errno = 0;
    long process = strtol(name + size + strlen(MARK), &end, 10);
    if (errno != 0 || process <= 0 || *end != '\0')
        return false;
    return process == (long)getpid() || (kill((pid_t)process, 0) != 0 && errno == ESRCH);
}

void aside_each_left(const char *path, aside_left_function *function, void *context)
{
    const char *slash = strrchr(path, '/');
    const char *stem = slash != NULL ? slash + 1 : path;
    size_t size = strlen(path) + 2;
    char *parent = memory_new(size);
    snprintf(parent, size, "%.*s", slash != NULL ? (int)(stem - path) : 2, slash != NULL ? path : "./");
    DIR *folder = opendir(parent);
    for (struct dirent *entry; folder != NULL && (entry = readdir(folder)) != NULL;) {
        if (!is_left(entry->d_name, stem))
            continue;
        size_t left_size = strlen(parent) + strlen(entry->d_name) + 1;
        char *left = memory_new(left_size);
        snprintf(left, left_size, "%s%s", parent, entry->d_name);
        function(context, left);
        memory_free(left);
    }
    if (folder != NULL)
        closedir(folder);
    memory_free(parent);
}

static void remove_left(void *context, const char *left)
{
    (void)context;
    aside_remove(left);
}

static void remove_left_file(void *context, const char *left)
{
    (void)context;
    struct stat status;
    if (lstat(left, &status) == 0 && S_ISREG(status.st_mode))
        unlink(left);
}

void aside_clean(const char *path) { aside_each_left(path, remove_left, NULL); }

void aside_clean_files(const char *path) { aside_each_left(path, remove_left_file, NULL); }
