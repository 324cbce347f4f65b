/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/place.h"

#include <string.h>

static bool is_inside(const char *path, const char *folder)
{
    const char *why;
    return path_is_inside(path, folder, &why);
}

/* The folder, or that above it, that is there already; to be freed. Behind `rest` the path is still to be made. */
static char *nearest(const char *path, const char **rest)
{
    char *near = memory_copy_string(path), *real, *slash;
    while ((real = path_real(near)) == NULL && (slash = strrchr(near, '/')) != NULL && slash > near)
        *slash = '\0';
    *rest = real != NULL ? path + strlen(near) : path;
    if (real == NULL)
        real = memory_copy_string(*near == '/' ? "/" : ".");
    memory_free(near);
    return real;
}

/* A step back would lead elsewhere once the folder before it is made. */
static bool steps_back(const char *path)
{
    for (const char *at = strstr(path, ".."); at != NULL; at = strstr(at + 1, ".."))
        if ((at == path || at[-1] == '/') && (at[2] == '/' || at[2] == '\0'))
            return true;
    return false;
}

static bool is_in_room(const char *path, const char *of, const char *room)
{
    char *folder = path_join(of, room);
    bool in = is_inside(path, folder);
    memory_free(folder);
    return in;
}

/* Of a site, or of a program. */
static bool is_free(const char *report, const char *near, const char *of)
{
    static const char *const rooms[] = {"records", "methods", "rules"};
    for (size_t i = 0; i < sizeof rooms / sizeof *rooms; i++)
        if (is_in_room(near, of, rooms[i]))
            return false;
    return !is_inside(of, report);
}

static bool is_free_of_all(const char *report, const char *near, const struct folder *folder)
{
    bool in_site = false;
    if (!is_free(report, near, folder->path) ||
        (folder->program_path != NULL && !is_free(report, near, folder->program_path)))
        return false;
    for (size_t i = 0; i < folder->site_count; i++) {
        if (!is_free(report, near, folder->sites[i].path))
            return false;
        in_site = in_site || is_inside(near, folder->sites[i].path);
    }
    return in_site || folder->program_path == NULL || !is_in_room(near, folder->program_path, "sites");
}

bool report_place_check(const char *report, const struct folder *folder, struct fault *fault)
{
    const char *rest;
    char *near = nearest(report, &rest);
    bool is_free = !steps_back(rest) && is_free_of_all(report, near, folder);
    memory_free(near);
    return is_free ||
           fault_set(fault, FAULT_USAGE,
                     "%s: is no place for a report: it would be written among the records, methods, rules or "
                     "sites of %s, or over them",
                     report, folder->path);
}
