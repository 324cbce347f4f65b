/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Examples in rule files: records in, findings out. Each example is judged at the example site (rules/example-site)
 * with the rows it adds or changes, by its own rule alone. */
#ifndef ASSIZE_RULEBOOK_EXAMPLES_H
#define ASSIZE_RULEBOOK_EXAMPLES_H

#include "rulebook/rulebook.h"

struct example_site; /* the base site: settings, rows, and what a new row's cells are if nobody says */
/* `home` is the folder of the rules that came with the program. */
bool example_site_open(struct example_site **out, const char *home, struct fault *fault);
void example_site_free(struct example_site *site);
OWNER(example_site);

struct example_result {
    struct text name; /* as the rule file calls it */
    bool holds;
    struct text why; /* what was found instead */
};
typedef void example_function(void *context, const struct rule *rule, const struct example_result *result);

/* Runs all examples of a rule of `book`. Where it asks for a parameter of another rule, that is looked for in the same
 * book, then in the one that came with the program. False if the file cannot be run. */
bool examples_run(struct example_site *site, const struct rulebook *book, const struct rulebook *installed,
                  const struct rule *rule, example_function *function, void *context, struct fault *fault);

#endif
