/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef __linux__
#define _GNU_SOURCE /* renameat2 */
#endif

#include "reports/replace.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/aside.h"
#include "base/output.h"
#include "intake/file.h"
#include "reports/manifest.h"

#define MANIFEST "manifest.txt"
#define OLD ".old" /* in the folder aside: the old files, while the new ones get their names */

struct replacing {
    struct arena *arena;
    const char *folder, *aside;
    const char *const *files;
    size_t count;
    struct fault *fault;
};

static const char *path_in(struct arena *arena, const char *folder, const char *file)
{
    return text_print(arena, "%s/%s", folder, file).data;
}

static bool is_folder(const char *path)
{
    struct stat status;
    return lstat(path, &status) == 0 && S_ISDIR(status.st_mode);
}

/* "/reports/2026-10" to "/reports/.2026-10", beside which the new folder stands for a moment. */
static const char *hidden_beside(struct arena *arena, const char *folder)
{
    const char *slash = strrchr(folder, '/');
    if (slash == NULL || slash[1] == '\0')
        return NULL;
    return text_print(arena, "%.*s/.%s", (int)(slash - folder), folder, slash + 1).data;
}

/* ---- in one step ---- */

static void note_file(void *context, const char *file) { names_add(context, text_of(file)); }

/* Whether all in the folder is listed, or a folder of such; `below` is its path from the report's folder. */
static bool holds_only(const struct replacing *replacing, const char *below, const struct names *listed)
{
    struct folder_names names;
    if (!folder_names_read(path_in(replacing->arena, replacing->folder, below), &names))
        return false;
    bool only = true;
    for (size_t i = 0; only && i < names.count; i++) {
        const char *divider = *below != '\0' ? "/" : "";
        const char *file = text_print(replacing->arena, "%s%s%s", below, divider, names.names[i]).data;
        const char *path = path_in(replacing->arena, replacing->folder, file);
        if (is_folder(path))
            only = strcmp(path, replacing->aside) == 0 || holds_only(replacing, file, listed);
        else
            only = names_find(listed, text_of(file)) != 0;
    }
    folder_names_free(&names);
    return only;
}

/* What else lies in the folder would have to be carried over, and whoever works in it would stand in the old one. */
static bool is_only_a_report(const struct replacing *replacing)
{
    struct fault none = {.code = FAULT_NONE};
    struct names *listed = names_new();
    char *here = path_real(".");
    size_t size = strlen(replacing->folder);
    bool inside = here == NULL || (strncmp(here, replacing->folder, size) == 0 && strchr("/", here[size]) != NULL);
    names_add(listed, TEXT(MANIFEST));
    manifest_files(replacing->folder, note_file, listed, &none); /* none: the folder is new, or holds no report */
    bool only = !inside && holds_only(replacing, "", listed);
    memory_free(here);
    names_free(listed);
    return only;
}

static bool rename_exchange(const char *one, const char *other)
{
#ifdef RENAME_EXCHANGE
    return renameat2(AT_FDCWD, one, AT_FDCWD, other, RENAME_EXCHANGE) == 0;
#else
    (void)one, (void)other;
    return false;
#endif
}

static void take_access(const char *from, const char *to)
{
    struct stat status;
    if (stat(from, &status) != 0)
        return;
    bool same_owner = chown(to, status.st_uid, status.st_gid) == 0;
    (void)same_owner; /* only root can give a folder away */
    (void)chmod(to, status.st_mode & 07777);
}

/* False: nothing has changed, but that the folder aside may have moved. */
static bool exchange(struct replacing *replacing)
{
    const char *hidden = hidden_beside(replacing->arena, replacing->folder);
    if (hidden == NULL || !is_only_a_report(replacing))
        return false;
    char *beside = aside_name(hidden);
    bool moved = rename(replacing->aside, beside) == 0;
    if (moved) {
        replacing->aside = text_keep(replacing->arena, text_of(beside)).data;
        take_access(replacing->folder, replacing->aside);
    }
    memory_free(beside);
    return moved && rename_exchange(replacing->aside, replacing->folder);
}

/* ---- one by one ---- */

/* A site's folder, unless something else has its name: what a link leads to is not the report's. */
static bool make_folder(const struct replacing *replacing, const char *folder, const char *file)
{
    const char *slash = strchr(file, '/');
    if (slash == NULL)
        return true;
    const char *path = text_print(replacing->arena, "%s/%.*s", folder, (int)(slash - file), file).data;
    if (mkdir(path, 0777) == 0 || (errno == EEXIST && is_folder(path)))
        return true;
    return fault_set(replacing->fault, FAULT_FILE, "%s: cannot make the folder: %s", path, strerror(errno));
}

static void remove_empty_folder(const struct replacing *replacing, const char *file)
{
    const char *slash = strchr(file, '/');
    if (slash != NULL)
        rmdir(text_print(replacing->arena, "%s/%.*s", replacing->folder, (int)(slash - file), file).data);
}

/* Puts the old file away, and the new one in its place. */
static bool give_name(const struct replacing *replacing, const char *old_files, const char *file)
{
    const char *from = path_in(replacing->arena, replacing->aside, file);
    const char *to = path_in(replacing->arena, replacing->folder, file);
    const char *old = path_in(replacing->arena, old_files, file);
    if (!make_folder(replacing, replacing->folder, file) || !make_folder(replacing, old_files, file))
        return false;
    if (is_folder(to))
        return fault_set(replacing->fault, FAULT_FILE, "%s: cannot be replaced: is a folder", to);
    if (rename(to, old) != 0 && errno != ENOENT)
        return fault_set(replacing->fault, FAULT_FILE, "%s: cannot be replaced: %s", to, strerror(errno));
    return output_rename(from, to, replacing->fault);
}

static void take_name_back(const struct replacing *replacing, const char *old_files, const char *file)
{
    const char *to = path_in(replacing->arena, replacing->folder, file);
    const char *old = path_in(replacing->arena, old_files, file);
    if (rename(old, to) != 0 && errno == ENOENT && access(path_in(replacing->arena, replacing->aside, file), F_OK) != 0)
        unlink(to);
    remove_empty_folder(replacing, file);
}

static bool give_names(const struct replacing *replacing)
{
    const char *old_files = path_in(replacing->arena, replacing->aside, OLD);
    if (mkdir(old_files, 0777) != 0)
        return fault_set(replacing->fault, FAULT_FILE, "%s: cannot make the folder: %s", old_files, strerror(errno));
    size_t given = 0;
    bool ok = true;
    for (; ok && given <= replacing->count; given++)
        ok = give_name(replacing, old_files, given < replacing->count ? replacing->files[given] : MANIFEST);
    if (ok)
        manifest_remove_old(replacing->folder, old_files, replacing->files, replacing->count);
    while (!ok && given-- > 0)
        take_name_back(replacing, old_files, given < replacing->count ? replacing->files[given] : MANIFEST);
    return ok;
}

/* ---- either ---- */

bool report_replace(const char *folder, const char *aside, const char *const *files, size_t count, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    char *real = path_real(folder), *real_aside = path_real(aside);
    bool done = real != NULL && real_aside != NULL;
    struct replacing replacing = {arena, real, real_aside, files, count, fault};
    if (!done)
        fault_set(fault, FAULT_FILE, "%s: cannot be written: %s", folder, strerror(errno));
    else if (exchange(&replacing))
        done = output_sync_folder_of(real, fault);
    else
        done = give_names(&replacing);
    aside_remove(replacing.aside != NULL ? replacing.aside : aside);
    memory_free(real);
    memory_free(real_aside);
    return done;
}

void report_clean(const char *folder)
{
    AUTO(arena) arena = arena_new();
    aside_clean(text_print(arena, "%s/", folder).data);
    char *real = path_real(folder);
    const char *hidden = real != NULL ? hidden_beside(arena, real) : NULL;
    if (hidden != NULL)
        aside_clean(hidden);
    memory_free(real);
}
