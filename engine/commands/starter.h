/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A new site folder: site.yaml from the template that came with the program, copies of example methods, and an empty
 * log of every kind. Nothing of it stands under its name before all of it is written. */
#ifndef ASSIZE_COMMANDS_STARTER_H
#define ASSIZE_COMMANDS_STARTER_H

#include "base/fault.h"
#include "base/text.h"

/* Where the new site goes: a folder that is not there yet, or an empty one. Below sites/ of a program folder it becomes
 * a site of that program. */
struct starter_place {
    char *folder;  /* as named, without trailing slashes */
    char *parent;  /* real path of the folder that holds it */
    char *name;    /* its name there, which becomes the site's id */
    char *program; /* real path of the program folder, or NULL */
    bool is_there; /* and empty */
};
bool starter_place_read(const char *path, struct starter_place **out, struct fault *fault);
void starter_place_free(struct starter_place *place);
OWNER(starter_place);

struct starter {
    const struct starter_place *place;
    const char *template;      /* path of the site.yaml to begin with */
    const char *methods;       /* folder of the example methods */
    const char *const *copied; /* names of those to copy, NULL at the end */
    const char *const *menu;   /* names of the methods that go on the menu, NULL at the end */
};
bool starter_write(const struct starter *starter, struct fault *fault);

/* The names of a folder's method files, without their ending: NULL at the end, empty if there is no such folder. NULL
 * on a fault: it cannot be read. */
const char *const *starter_methods(struct arena *arena, const char *folder, struct fault *fault);
bool starter_lists(const char *const *names, const char *name);

#endif
