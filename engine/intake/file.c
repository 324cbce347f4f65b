/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700 /* realpath */

#include "intake/file.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/memory.h"

enum { FILE_MOST = 1 << 30 }; /* bytes; a file is held in memory as a whole */

char *path_join(const char *folder, const char *name)
{
    size_t size = strlen(folder) + strlen(name) + 2;
    char *path = memory_new(size);
    const char *divider = folder[strlen(folder) - 1] == '/' ? "" : "/";
    snprintf(path, size, "%s%s%s", folder, divider, name);
    return path;
}

bool file_exists(const char *path)
{
    struct stat status;
    return lstat(path, &status) == 0 || (errno != ENOENT && errno != ENOTDIR);
}

/* ---- folders ---- */

static int compare_names(const void *a, const void *b) { return strcmp(*(char *const *)a, *(char *const *)b); }

bool folder_names_read(const char *path, struct folder_names *out)
{
    size_t capacity = 0;
    const struct dirent *found;
    *out = (struct folder_names){0};
    DIR *folder = opendir(path);
    if (folder == NULL)
        return false;
    while (errno = 0, (found = readdir(folder)) != NULL) {
        if (strcmp(found->d_name, ".") == 0 || strcmp(found->d_name, "..") == 0)
            continue;
        VECTOR_GROW(out->names, out->count, capacity);
        out->names[out->count++] = memory_copy_string(found->d_name);
    }
    int error = errno; /* of a folder that could not be read to its end */
    closedir(folder);
    if (error != 0) {
        folder_names_free(out);
        errno = error;
        return false;
    }
    if (out->count > 0)
        qsort(out->names, out->count, sizeof *out->names, compare_names);
    return true;
}

bool folder_names_read_any(const char *path, struct folder_names *out, struct fault *fault)
{
    if (folder_names_read(path, out))
        return true;
    int error = errno;
    return (error == ENOENT && !file_exists(path)) ||
           fault_set(fault, FAULT_FILE, "%s: cannot be read: %s", path, strerror(error));
}

void folder_names_free(struct folder_names *names)
{
    for (size_t i = 0; i < names->count; i++)
        memory_free(names->names[i]);
    memory_free(names->names);
    *names = (struct folder_names){0};
}

bool name_is_by_product(const char *name)
{
    return name[0] == '.' || strncmp(name, "~$", 2) == 0 || name[strlen(name) - 1] == '~';
}

/* ---- links ---- */

static bool begins_with_folder(const char *path, const char *folder)
{
    size_t size = strlen(folder);
    if (strcmp(folder, "/") == 0)
        return true;
    return strncmp(path, folder, size) == 0 && (path[size] == '/' || path[size] == '\0');
}

char *path_real(const char *path) { return realpath(path, NULL); }

bool path_is_inside(const char *path, const char *inside, const char **why)
{
    *why = NULL;
    char *real = path_real(path);
    if (real == NULL)
        *why = errno == ELOOP ? "a symbolic link that leads back to itself"
                              : "a symbolic link to nothing that can be read";
    char *real_inside = path_real(inside);
    if (real != NULL && (real_inside == NULL || !begins_with_folder(real, real_inside)))
        *why = "a symbolic link that leads out of the site folder";
    memory_free(real);
    memory_free(real_inside);
    return *why == NULL;
}

/* ---- reading ---- */

static bool cannot_read(const char *path, const char *why, struct fault *fault)
{
    return fault_set(fault, FAULT_FILE, "%s: cannot be read: %s", path, why);
}

static const char too_large[] = "is larger than 1 GiB; put its rows into several logs";

/* Opened without waiting: opening a pipe would wait for its writer. */
static int open_regular(const char *path, size_t *size, struct fault *fault)
{
    int file = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC | O_NOCTTY);
    struct stat status = {0};
    const char *why = NULL;
    if (file < 0 || fstat(file, &status) != 0)
        why = strerror(errno);
    else if (!S_ISREG(status.st_mode))
        why = S_ISDIR(status.st_mode) ? "is a folder, not a file" : "is no regular file";
    else if ((uint64_t)status.st_size > FILE_MOST)
        why = too_large;
    if (why == NULL) {
        *size = (size_t)status.st_size;
        return file;
    }
    cannot_read(path, why, fault);
    if (file >= 0)
        close(file);
    return -1;
}

/* Until the end, which may lie elsewhere than the size said: the file may be written to meanwhile. */
static bool read_all(int file, const char *path, size_t expected, struct file_bytes *out, struct fault *fault)
{
    size_t capacity = expected + 1;
    out->data = memory_resize(NULL, capacity, 1);
    out->size = 0;
    for (;;) {
        ssize_t got = read(file, out->data + out->size, capacity - out->size);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return cannot_read(path, strerror(errno), fault);
        if (got == 0)
            return true;
        out->size += (size_t)got;
        if (out->size > FILE_MOST)
            return cannot_read(path, too_large, fault);
        if (out->size == capacity) {
            capacity *= 2;
            out->data = memory_resize(out->data, capacity, 1);
        }
    }
}

bool file_read_begin(const char *path, size_t most, struct file_bytes *out, struct fault *fault)
{
    size_t size = 0;
    *out = (struct file_bytes){0};
    int file = open_regular(path, &size, fault);
    if (file < 0)
        return false;
    out->data = memory_new(most + 1);
    ssize_t got = 0;
    while (out->size < most && (got = read(file, out->data + out->size, most - out->size)) > 0)
        out->size += (size_t)got;
    int error = errno;
    close(file);
    if (got >= 0)
        return true;
    memory_free(out->data);
    *out = (struct file_bytes){0};
    return cannot_read(path, strerror(error), fault);
}

bool file_read(const char *path, const char *inside, struct file_bytes *out, struct fault *fault)
{
    const char *why;
    size_t size = 0;
    *out = (struct file_bytes){0};
    if (inside != NULL && file_exists(path) && !path_is_inside(path, inside, &why))
        return cannot_read(path, why, fault);
    int file = open_regular(path, &size, fault);
    if (file < 0)
        return false;
    bool good = read_all(file, path, size, out, fault);
    close(file);
    if (!good) {
        memory_free(out->data);
        *out = (struct file_bytes){0};
    }
    return good;
}
