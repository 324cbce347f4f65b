/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside of the settings: the parts that site, program and method files share. */
#ifndef ASSIZE_INTAKE_SETTINGS_INSIDE_H
#define ASSIZE_INTAKE_SETTINGS_INSIDE_H

#include "intake/fields.h"
#include "intake/settings.h"

/* settings.c: the tree of a source, and the fields to read it with, but for their fault. */
bool parse_source(const struct settings_source *source, struct arena *arena, struct fields *fields,
                  const struct node **root);

/* policy.c: FIELD_READ functions for `policy` (struct policy) and `excused` (struct site_settings). */
bool read_policy(const struct fields *fields, const struct node *node, const char *name, void *out);
bool read_excused(const struct fields *fields, const struct node *node, const char *name, void *out);

/* method.c: a method file's tree into its settings; `file_name` is the name of the file without its ending. */
bool read_method(const struct fields *fields, const struct node *root, struct text file_name,
                 struct method_settings *out);

/* doubts.c: fills in the site's warnings; `root` is the tree of its site.yaml, the method files have been read. */
void settings_doubts(const struct fields *fields, const struct node *root, struct site_settings *site);

#endif
