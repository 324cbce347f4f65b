/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The folders that came with the program: rules, example methods, what a new site begins with. They lie beside the
 * executable, so that they are found whatever the current folder is. */
#ifndef ASSIZE_BASE_INSTALLED_H
#define ASSIZE_BASE_INSTALLED_H

#include <stdbool.h>

#include "base/fault.h"

/* The folder NAME: PREFIX/share/assize/NAME of an installed program, or beside it in a build tree. Owned by the caller:
 * memory_free. */
bool installed_folder(const char *name, char **path, struct fault *fault);

bool path_is_folder(const char *path);

#endif
