/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shards of a program: program folders that share program.yaml and methods/, each with some of the sites and a
 * store of its own. */
#ifndef ASSIZE_COMMANDS_SHARDS_H
#define ASSIZE_COMMANDS_SHARDS_H

#include "commands/open.h"

struct shards {
    struct opened **opened; /* in the order they were named */
    const char **paths;     /* of their stores */
    day_number *loaded_on;  /* the last load of each that changed anything; after shards_period */
    struct stores stores;   /* these */
};

/* Words `first` and on of the arguments: a shard's folder, or the assize.db in it. A fault if one is no shard of the
 * same program as the first, has no store, or has a site that another one has too. */
bool shards_read(struct shards **out, const struct arguments *arguments, size_t first, struct fault *fault);
void shards_free(struct shards *shards);
OWNER(shards);

/* The period of the arguments, else that of the audits kept last, which must be the same everywhere. Every store is
 * opened for writing once, so that one that is locked or cannot be written is a fault before anything is changed; its
 * sites are compared with those of its folder (opened_compare). */
bool shards_period(const struct shards *shards, const struct arguments *arguments, struct audit_key *out,
                   struct fault *fault);

/* Adds a warning to the audit for each shard into which nothing was loaded since a day before its as-of: its logs may
 * have gone on, and a merge loads none. */
void shards_warn_of_old_loads(const struct shards *shards, struct audit *audit);

#endif
