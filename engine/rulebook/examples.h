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
    bool holds, broke;
    struct text why; /* what was found instead */
};
typedef void example_function(void *context, const struct rule *rule, const struct example_result *result);

/* Runs all examples of a rule of `book`. Where it asks for a parameter of another rule, that is looked for in the same
 * book, then in the one that came with the program. False if the file cannot be run. */
bool examples_run(struct example_site *site, const struct rulebook *book, const struct rulebook *installed,
                  const struct rule *rule, example_function *function, void *context, struct fault *fault);

/* An example as a reader sees it; texts live in the arena that is given. */
struct example_told {
    struct text name, from, to; /* the first and last day */
    struct text *given;         /* what is on record beyond the example site, where nothing is wrong */
    size_t given_count;
    struct text *found; /* what the rule's findings say */
    size_t found_count;
};

/* Tells the rule's first example that finds something, or else its first. */
bool example_tell(struct example_site *site, const struct rulebook *book, const struct rule *rule, struct arena *arena,
                  struct example_told *out, struct fault *fault);

#endif
