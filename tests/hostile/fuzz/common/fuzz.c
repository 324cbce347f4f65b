/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700
#include "fuzz.h"

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { PATH_SIZE = 512, FILES_OPEN_MOST = 16 };

void fuzz_broken(const char *what, const char *file, int line)
{
    fprintf(stderr, "%s:%d: does not hold: %s\n", file, line, what);
    abort();
}

bool fuzz_part(struct text *rest, char divider, struct text *part)
{
    if (rest->size == 0)
        return false;
    const char *end = memchr(rest->data, divider, rest->size);
    *part = (struct text){rest->data, end != NULL ? (size_t)(end - rest->data) : rest->size};
    size_t taken = part->size + (end != NULL);
    *rest = (struct text){rest->data + taken, rest->size - taken};
    return true;
}

char *fuzz_copy(struct text text)
{
    char *copy = memory_new(text.size);
    if (text.size > 0)
        memcpy(copy, text.data, text.size);
    return copy;
}

uint32_t fuzz_lines(struct text text)
{
    uint32_t lines = 1;
    for (size_t i = 0; i < text.size; i++)
        lines += text.data[i] == '\n' || (text.data[i] == '\r' && (i + 1 == text.size || text.data[i + 1] != '\n'));
    return lines;
}

/* ---- a folder ---- */

static char folder[PATH_SIZE];

static int remove_entry(const char *path, const struct stat *status, int type, struct FTW *place)
{
    (void)status, (void)type, (void)place;
    return remove(path);
}

static void remove_folder(void) { nftw(folder, remove_entry, FILES_OPEN_MOST, FTW_DEPTH | FTW_PHYS); }

const char *fuzz_folder(void)
{
    if (*folder != '\0')
        return folder;
    const char *base = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/assize-fuzz-XXXXXX", base != NULL ? base : "/tmp");
    REQUIRE(mkdtemp(folder) != NULL);
    atexit(remove_folder);
    return folder;
}

const char *fuzz_path(const char *name)
{
    static char path[2 * PATH_SIZE];
    snprintf(path, sizeof path, "%s/%s", fuzz_folder(), name);
    return path;
}

void fuzz_write(const char *path, struct text bytes)
{
    FILE *file = fopen(path, "wb");
    REQUIRE(file != NULL);
    REQUIRE(fwrite(bytes.data, 1, bytes.size, file) == bytes.size);
    REQUIRE(fclose(file) == 0);
}
