/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700 /* mkdtemp, nftw */

#include "scratch.h"

#include <criterion/criterion.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "intake/file.h"

struct scratch *scratch_new(void)
{
    struct scratch *scratch = memory_new(sizeof *scratch);
    const char *parent = getenv("TMPDIR");
    char *template = path_join(parent != NULL && *parent != '\0' ? parent : "/tmp", "assize-test-XXXXXX");
    cr_assert_not_null(mkdtemp(template));
    scratch->path = path_real(template);
    memory_free(template);
    return scratch;
}

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *place)
{
    (void)status;
    (void)kind;
    (void)place;
    return remove(path);
}

void scratch_free(struct scratch *scratch)
{
    if (scratch == NULL)
        return;
    cr_expect_eq(nftw(scratch->path, remove_entry, 16, FTW_DEPTH | FTW_PHYS), 0);
    memory_free(scratch->path);
    memory_free(scratch->full);
    memory_free(scratch);
}

const char *scratch_path(struct scratch *scratch, const char *name)
{
    memory_free(scratch->full);
    scratch->full = path_join(scratch->path, name);
    return scratch->full;
}

static void make_parents(struct scratch *scratch, const char *name)
{
    char *path = memory_copy_string(scratch_path(scratch, name));
    for (char *slash = strchr(path + strlen(scratch->path) + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        mkdir(path, 0777);
        *slash = '/';
    }
    memory_free(path);
}

void scratch_bytes(struct scratch *scratch, const char *name, const void *bytes, size_t size)
{
    make_parents(scratch, name);
    FILE *file = fopen(scratch_path(scratch, name), "wb");
    cr_assert_not_null(file, "%s", name);
    cr_assert_eq(fwrite(bytes, 1, size, file), size);
    cr_assert_eq(fclose(file), 0);
}

void scratch_write(struct scratch *scratch, const char *name, const char *text)
{
    scratch_bytes(scratch, name, text, strlen(text));
}

void scratch_folder(struct scratch *scratch, const char *name)
{
    make_parents(scratch, name);
    mkdir(scratch_path(scratch, name), 0777);
}

void scratch_link(struct scratch *scratch, const char *name, const char *target)
{
    make_parents(scratch, name);
    cr_assert_eq(symlink(target, scratch_path(scratch, name)), 0);
}
