/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/folder.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>

#include "intake/scan.h"

static bool is_folder(const char *path)
{
    struct stat status;
    return stat(path, &status) == 0 && S_ISDIR(status.st_mode);
}

/* Not to be told from a folder that cannot be looked at: then its site is bad, and says so. */
static bool may_be_folder(const char *path)
{
    struct stat status;
    return stat(path, &status) == 0 ? S_ISDIR(status.st_mode) : file_exists(path);
}

static bool holds(const char *folder, const char *name)
{
    char *path = path_join(folder, name);
    bool found = file_exists(path);
    memory_free(path);
    return found;
}

static void add_site(struct folder *folder, const char *path, const char *name)
{
    folder->sites = memory_resize(folder->sites, folder->site_count + 1, sizeof *folder->sites);
    struct site_place *site = &folder->sites[folder->site_count++];
    *site = (struct site_place){.path = memory_copy_string(path)};
    if (name != NULL)
        site->name = memory_copy_string(name);
    scan_records(site);
}

/* ---- a site folder ---- */

/* Cuts the last part off a path and gives it; "" if none is left. */
static const char *cut_last(char *path)
{
    char *slash = strrchr(path, '/');
    if (slash == NULL)
        return "";
    *slash = '\0';
    return slash + 1;
}

/* PROGRAM/sites/NAME with PROGRAM/program.yaml: the program is the site's. */
static bool open_site(struct folder *folder, struct fault *fault)
{
    char *real = path_real(folder->path);
    if (real == NULL)
        return fault_set(fault, FAULT_FILE, "%s: cannot be looked at: %s", folder->path, strerror(errno));
    const char *name = cut_last(real);
    bool below_sites = strcmp(cut_last(real), "sites") == 0;
    if (below_sites && holds(*real != '\0' ? real : "/", "program.yaml")) {
        folder->program_path = memory_copy_string(*real != '\0' ? real : "/");
        add_site(folder, folder->path, name);
    } else {
        add_site(folder, folder->path, NULL);
    }
    memory_free(real);
    return true;
}

/* ---- a program folder ---- */

static bool open_program(struct folder *folder, struct fault *fault)
{
    folder->program_path = memory_copy_string(folder->path);
    char *sites = path_join(folder->path, "sites");
    struct folder_names names;
    if (!folder_names_read(sites, &names))
        fault_set(fault, FAULT_FILE, "%s: cannot be read: %s", sites, strerror(errno));
    for (size_t i = 0; i < names.count; i++) {
        char *path = path_join(sites, names.names[i]);
        if (names.names[i][0] != '.' && may_be_folder(path))
            add_site(folder, path, names.names[i]);
        memory_free(path);
    }
    if (folder->site_count == 0)
        fault_set(fault, FAULT_FILE, "%s: holds no site folders", sites);
    folder_names_free(&names);
    memory_free(sites);
    return folder->site_count > 0;
}

/* ---- either ---- */

static bool open_named(struct folder *folder, struct fault *fault)
{
    bool is_program = holds(folder->path, "program.yaml"), is_site = holds(folder->path, "site.yaml");
    if (!is_folder(folder->path))
        return fault_set(fault, FAULT_FILE, "%s: no such folder", folder->path);
    if (is_program && is_site)
        return fault_set(fault, FAULT_FILE, "%s: holds both program.yaml and site.yaml; a folder is one or the other",
                         folder->path);
    if (!is_program && !is_site)
        return fault_set(fault, FAULT_FILE, "%s: holds neither site.yaml nor program.yaml", folder->path);
    if (is_program && !open_program(folder, fault))
        return false;
    if (is_site && !open_site(folder, fault))
        return false;
    folder->store_path = path_join(folder->program_path != NULL ? folder->program_path : folder->path, "assize.db");
    return true;
}

static char *without_trailing_slashes(const char *path)
{
    char *copy = memory_copy_string(path);
    size_t size = strlen(copy);
    while (size > 1 && copy[size - 1] == '/')
        copy[--size] = '\0';
    return copy;
}

bool folder_open(struct folder **out, const char *path, struct fault *fault)
{
    *out = NULL;
    if (*path == '\0')
        return fault_set(fault, FAULT_FILE, "the name of the folder is empty");
    struct folder *folder = memory_new(sizeof *folder);
    folder->path = without_trailing_slashes(path);
    if (!open_named(folder, fault)) {
        folder_free(folder);
        return false;
    }
    *out = folder;
    return true;
}

static void free_site(struct site_place *site)
{
    for (size_t i = 0; i < site->log_count; i++) {
        memory_free(site->logs[i].path);
        memory_free(site->logs[i].refused);
    }
    memory_free(site->unreadable);
    for (size_t i = 0; i < site->passed_over_count; i++)
        memory_free(site->passed_over[i]);
    memory_free(site->logs);
    memory_free(site->passed_over);
    memory_free(site->name);
    memory_free(site->path);
}

void folder_free(struct folder *folder)
{
    if (folder == NULL)
        return;
    for (size_t i = 0; i < folder->site_count; i++)
        free_site(&folder->sites[i]);
    memory_free(folder->sites);
    memory_free(folder->path);
    memory_free(folder->store_path);
    memory_free(folder->program_path);
    memory_free(folder);
}
