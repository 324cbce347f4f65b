/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the commands that only look begin with: the folder as it was last loaded, judged for a period. Nothing is
 * loaded or written; findings are known or new as in the audit kept last. */
#ifndef ASSIZE_COMMANDS_JUDGED_H
#define ASSIZE_COMMANDS_JUDGED_H

#include "commands/open.h"

#define JUDGED_OPTIONS                                                                         \
    {"site", "SITE", "this site of a program", false},                                         \
        {"month", "YYYY-MM", "the month to look at; the audit kept last if not given", false}, \
        {"from", "YYYY-MM-DD", "first day of the period, with --to", false},                   \
        {"to", "YYYY-MM-DD", "last day of the period, with --from", false},                    \
        {"as-of", "YYYY-MM-DD", "the day from which it is seen", false},                       \
        {"redact", NULL, "show no specimen ids", false},                                       \
    {                                                                                          \
        "rules", "FOLDER", "add the rules of a folder of yours", true                          \
    }

struct judged {
    struct rulebook *book;
    struct opened *opened;
    struct store *store;
    struct audit_key key; /* of --month, --from, --to, --as-of; else the audit kept last */
    struct audit *audit;
};

/* All but the audit, for commands that look at single results. */
bool judged_open(struct judged **out, const struct arguments *arguments, struct fault *fault);
/* By `DIR` (the first word), the period's options, `--rules` and `--site` of the arguments. */
bool judged_read(struct judged **out, const struct arguments *arguments, bool portraits, struct fault *fault);
void judged_free(struct judged *judged);
OWNER(judged);

#endif
