/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files and paths of a site folder. */
#ifndef ASSIZE_INTAKE_FILE_H
#define ASSIZE_INTAKE_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

struct file_bytes {
    char *data; /* owned by the caller: memory_free */
    size_t size;
};

/* Reads a whole file. Refused are symbolic links that lead out of the folder `inside` (if not NULL), and what is no
 * regular file: folders, devices, pipes, sockets; and files beyond 1 GiB, as memory would have to hold them. */
bool file_read(const char *path, const char *inside, struct file_bytes *out, struct fault *fault);
/* Its first bytes, `most` of them at most. */
bool file_read_begin(const char *path, size_t most, struct file_bytes *out, struct fault *fault);

/* False only if there is nothing of this name: what a worn disk cannot tell of is there, and so is a link that leads
 * nowhere; reading it says why not. */
bool file_exists(const char *path);

/* The names in a folder but `.` and `..`, in byte order. False (and errno) if it cannot be read. */
struct folder_names {
    char **names;
    size_t count;
};
bool folder_names_read(const char *path, struct folder_names *out);
/* Likewise, and there need be none: then it has no names. False (and the fault) if it cannot be read. */
bool folder_names_read_any(const char *path, struct folder_names *out, struct fault *fault);
void folder_names_free(struct folder_names *names);

/* Hidden files, and what spreadsheets and editors leave beside the file they work on (`~$…`, `…~`). */
bool name_is_by_product(const char *name);

/* "FOLDER/NAME"; owned by the caller. */
char *path_join(const char *folder, const char *name);

/* The path with all symbolic links followed; NULL (and errno) if it leads nowhere. Owned by the caller: memory_free. */
char *path_real(const char *path);

/* Whether the real place of `path`, all symbolic links followed, lies in the folder `inside` or is it. On failure *why
 * says so in words, static. */
bool path_is_inside(const char *path, const char *inside, const char **why);

#endif
