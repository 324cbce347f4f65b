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
    const struct names *files, *own; /* of the new report; of the old one, in the folder */
    struct fault *fault;
    bool torn; /* the old report could not be made whole again; the next one will try */
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

/* Whether all in the folder is the old report's, or a folder of such; `below` is its path from the report's folder. */
static bool holds_only(const struct replacing *replacing, const char *below)
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
            only = strcmp(path, replacing->aside) == 0 || holds_only(replacing, file);
        else
            only = names_find(replacing->own, text_of(file)) != 0;
    }
    folder_names_free(&names);
    return only;
}

/* What else lies in the folder would have to be carried over, and whoever works in it would stand in the old one. */
static bool is_only_a_report(const struct replacing *replacing)
{
    char *here = path_real(".");
    size_t size = strlen(replacing->folder);
    bool inside = here == NULL || (strncmp(here, replacing->folder, size) == 0 && strchr("/", here[size]) != NULL);
    memory_free(here);
    return !inside && holds_only(replacing, "");
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

static bool put_away(const struct replacing *replacing, const char *old_files, const char *file)
{
    const char *from = path_in(replacing->arena, replacing->folder, file);
    if (!make_folder(replacing, old_files, file))
        return false;
    if (rename(from, path_in(replacing->arena, old_files, file)) == 0 || errno == ENOENT)
        return true;
    return fault_set(replacing->fault, FAULT_FILE, "%s: cannot be replaced: %s", from, strerror(errno));
}

/* Puts the old file away, and the new one in its place. */
static bool give_name(const struct replacing *replacing, const char *old_files, const char *file)
{
    return make_folder(replacing, replacing->folder, file) && put_away(replacing, old_files, file) &&
           output_rename(path_in(replacing->arena, replacing->aside, file),
                         path_in(replacing->arena, replacing->folder, file), replacing->fault);
}

static const char *name_in(const struct replacing *replacing, const struct names *names, uint32_t number)
{
    return text_string(replacing->arena, names_text(names, number));
}

/* Whatever of the report became of the new one goes aside again. */
static bool take_new_back(const struct replacing *replacing)
{
    bool ok = true;
    for (uint32_t i = names_count(replacing->files); i > 0; i--) {
        const char *file = name_in(replacing, replacing->files, i);
        const char *aside = path_in(replacing->arena, replacing->aside, file);
        const char *path = path_in(replacing->arena, replacing->folder, file);
        if (!file_exists(aside) && file_exists(path))
            ok = rename(path, aside) == 0 && ok;
        remove_empty_folder(replacing, file);
    }
    return ok;
}

/* All old files that were put away get their names again, unless somebody made others; `below` is a folder of theirs.
 */
static bool put_old_back(const struct replacing *replacing, const char *old_files, const char *below)
{
    struct folder_names names;
    if (!folder_names_read(path_in(replacing->arena, old_files, below), &names))
        return false;
    bool ok = true;
    for (size_t i = 0; i < names.count; i++) {
        const char *divider = *below != '\0' ? "/" : "";
        const char *file = text_print(replacing->arena, "%s%s%s", below, divider, names.names[i]).data;
        const char *from = path_in(replacing->arena, old_files, file);
        const char *to = path_in(replacing->arena, replacing->folder, file);
        if (is_folder(from))
            ok = *below == '\0' && put_old_back(replacing, old_files, file) && ok;
        else
            ok = (file_exists(to) || (make_folder(replacing, replacing->folder, file) && rename(from, to) == 0)) && ok;
    }
    folder_names_free(&names);
    return ok;
}

/* Gives whether the old report is whole again. The mark that there is something to take back goes first. */
static bool take_back(const struct replacing *replacing)
{
    const char *old_files = path_in(replacing->arena, replacing->aside, OLD);
    bool ok = take_new_back(replacing) && put_old_back(replacing, old_files, "");
    if (ok)
        aside_remove(old_files);
    return ok;
}

/* The new files but the manifest, then away with what the new report does not have, then the manifest. */
static bool give_names(struct replacing *replacing)
{
    const char *old_files = path_in(replacing->arena, replacing->aside, OLD);
    if (mkdir(old_files, 0777) != 0)
        return fault_set(replacing->fault, FAULT_FILE, "%s: cannot make the folder: %s", old_files, strerror(errno));
    bool ok = true;
    for (uint32_t i = 2; ok && i <= names_count(replacing->files); i++)
        ok = give_name(replacing, old_files, name_in(replacing, replacing->files, i));
    for (uint32_t i = 1; ok && i <= names_count(replacing->own); i++)
        if (names_find(replacing->files, names_text(replacing->own, i)) == 0)
            ok = put_away(replacing, old_files, name_in(replacing, replacing->own, i));
    if (!ok || !give_name(replacing, old_files, MANIFEST)) {
        replacing->torn = !take_back(replacing);
        return false;
    }
    for (uint32_t i = 1; i <= names_count(replacing->own); i++)
        remove_empty_folder(replacing, name_in(replacing, replacing->own, i));
    return true;
}

/* ---- either ---- */

/* Files of these names are replaced: each must be the old report's own. */
static bool may_replace(const struct replacing *replacing)
{
    for (uint32_t i = 1; i <= names_count(replacing->files); i++) {
        const char *path = path_in(replacing->arena, replacing->folder, name_in(replacing, replacing->files, i));
        if (names_find(replacing->own, names_text(replacing->files, i)) == 0 && file_exists(path))
            return fault_set(replacing->fault, FAULT_FILE,
                             "%s: was changed after it was written, or is no report: it would be replaced; move it "
                             "away, or have the report written to another folder",
                             path);
    }
    return true;
}

static bool replace(struct replacing *replacing)
{
    if (!may_replace(replacing))
        return false;
    if (exchange(replacing))
        return output_sync_folder_of(replacing->folder, replacing->fault);
    return give_names(replacing);
}

bool report_replace(const char *folder, const char *aside, const char *const *files, size_t count, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    AUTO(names) new_files = names_new();
    AUTO(names) own = names_new();
    char *real = path_real(folder), *real_aside = path_real(aside);
    struct replacing replacing = {arena, real, real_aside, new_files, own, fault, false};
    names_add(new_files, TEXT(MANIFEST));
    for (size_t i = 0; i < count; i++)
        names_add(new_files, text_of(files[i]));
    bool done = real != NULL && real_aside != NULL;
    if (!done)
        fault_set(fault, FAULT_FILE, "%s: cannot be written: %s", folder, strerror(errno));
    else
        done = manifest_own_files(real, real, own, fault) && replace(&replacing);
    if (!replacing.torn)
        aside_remove(replacing.aside != NULL ? replacing.aside : aside);
    memory_free(real);
    memory_free(real_aside);
    return done;
}

/* ---- what a process that was killed left ---- */

struct cleaning {
    const char *folder;
    struct fault *fault;
    bool ok;
};

/* It was about to give names, one by one, if it has a folder of old files, and not done, if it still has a manifest. */
static bool recover(const char *folder, const char *left, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    AUTO(names) placed = names_new();
    struct replacing replacing = {arena, folder, left, placed, NULL, fault, false};
    if (!is_folder(path_in(arena, left, OLD)) || !file_exists(path_in(arena, left, MANIFEST)))
        return true;
    if (!manifest_own_files(folder, left, placed, fault))
        return false;
    return take_back(&replacing) ||
           fault_set(fault, FAULT_FILE, "%s: an older report cannot be made whole again: its files are in %s", folder,
                     left);
}

static void clean_left(void *context, const char *left)
{
    struct cleaning *cleaning = context;
    cleaning->ok = cleaning->ok && recover(cleaning->folder, left, cleaning->fault);
    if (cleaning->ok)
        aside_remove(left);
}

bool report_clean(const char *folder, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    char *real = path_real(folder);
    if (real == NULL)
        return true; /* there is none yet */
    struct cleaning cleaning = {real, fault, true};
    aside_each_left(text_print(arena, "%s/", real).data, clean_left, &cleaning);
    const char *hidden = hidden_beside(arena, real);
    if (hidden != NULL)
        aside_each_left(hidden, clean_left, &cleaning);
    memory_free(real);
    return cleaning.ok;
}
