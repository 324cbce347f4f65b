/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Folders: finds what there is to read. A site folder holds site.yaml; a program folder program.yaml and sites/NAME/; a
 * site folder below a program folder is judged with the program's methods, policy and store.
 *
 * Nothing is dropped in silence: each file below records/ is either a log of a kind, or refused with a reason, or
 * passed over and named once. Paths of logs are relative to the site folder, with `/`; logs stand in the byte order of
 * their paths. */
#ifndef ASSIZE_INTAKE_FOLDER_H
#define ASSIZE_INTAKE_FOLDER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"
#include "base/memory.h"
#include "intake/file.h"
#include "records/kinds.h"

struct log_file {
    char *path;                     /* relative to the site folder: "records/tests-2026-10.csv" */
    const struct record_kind *kind; /* that its name tells; NULL if it tells none */
    char *refused; /* why it is refused as a whole, NULL if it is to be read; kind may stand all the same */
};

struct site_place {
    char *name;       /* the folder's name below sites/, or NULL for a lone site folder (site.yaml says it) */
    char *path;       /* of the site folder */
    char *unreadable; /* why records/ or a folder of a kind in it cannot be read, complete; NULL if it can. Then nobody
                         can tell what is gone, and the site must not be loaded */
    struct log_file *logs;
    size_t log_count;
    char *
        *passed_over; /* relative paths of files that are none of ours: hidden, lock and backup files, other endings */
    size_t passed_over_count;
};

struct folder {
    char *path;               /* that was named: assize.db lies here, or in the program folder of a site below it */
    char *store_path;         /* path of assize.db */
    char *program_path;       /* folder of program.yaml, NULL for a lone site */
    struct site_place *sites; /* in the byte order of their names */
    size_t site_count;
};

/* Looks at `path`. A site folder NAME with ../../program.yaml, in a folder `sites`, gives that program with this one
 * site and the program's store; otherwise the store lies in the folder that was named. */
bool folder_open(struct folder **out, const char *path, struct fault *fault);
void folder_free(struct folder *folder);
OWNER(folder);

#endif
