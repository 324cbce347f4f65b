/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/installed.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/text.h"

bool path_is_folder(const char *path)
{
    struct stat status;
    return stat(path, &status) == 0 && S_ISDIR(status.st_mode);
}

bool installed_folder(const char *name, char **path, struct fault *fault)
{
    char self[4096];
    ssize_t size = readlink("/proc/self/exe", self, sizeof self - 1);
    if (size <= 0)
        return fault_set(fault, FAULT_FILE, "cannot tell where the program lies: %s", strerror(errno));
    self[size] = '\0';
    char *slash = strrchr(self, '/');
    if (slash != NULL)
        *slash = '\0';
    /* PREFIX/bin/assize beside PREFIX/share; build/assize or build/VARIANT/assize beside links to the folders. */
    static const char *const beside[] = {"/../share/assize/", "/", "/../", "/../../"};
    AUTO(arena) arena = arena_new();
    for (size_t i = 0; i < sizeof beside / sizeof *beside; i++) {
        struct text tried = text_print(arena, "%s%s%s", self, beside[i], name);
        if (!path_is_folder(tried.data))
            continue;
        *path = memory_copy_string(tried.data);
        return true;
    }
    return fault_set(fault, FAULT_FILE, "%s: no %s beside the program", self, name);
}
