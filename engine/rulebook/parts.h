/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An audit while it is made: a part a site, each with memory of its own. */
#ifndef ASSIZE_RULEBOOK_PARTS_H
#define ASSIZE_RULEBOOK_PARTS_H

#include "rulebook/judged.h"
#include "timeline/presence.h"

struct audit_part {
    struct audit *audit; /* its memory and warnings; NULL: the site was not asked for */
    struct growing growing;
    struct site_result result;
};

struct parts { /* of all sites, as request->sites */
    const struct audit_request *request;
    const struct presence *presence;
    struct audit_part *parts;
};

/* What a store says before anything is judged. */
struct store_past {
    char head[DIGEST_HEX_SIZE];
    struct audit_key before, before_of_period; /* the latest audits of an earlier as-of: any, and of the same period;
                                                  as_of DAY_ABSENT if there is none */
};
/* One of each store; the caller frees them with memory_free. NULL with the fault set. */
struct store_past *stores_past(const struct audit_request *request, struct fault *fault);

/* since.c: fills what was closed and what is gone since the latest audits before: new, then a look into each store,
 * then the end, which puts it into the audit. */
struct since;
struct since *since_new(struct audit *audit, const struct stores *stores, const struct store_past *pasts);
bool since_look(struct since *since, struct store *store, struct fault *fault);
/* Of the store looked into last: what audits that this one takes the place of found, and this one has not. It stays
 * kept with this one, so that it is told however often the audit is made again. */
const struct kept_finding *since_replaced(const struct since *since, size_t *count);
void since_end(struct since *since);
void since_free(struct since *since);
OWNER(since);

/* Compares an audit with those kept before, and keeps it if the request says so. */
bool audit_look_back(struct audit *audit, const struct audit_request *request, const struct store_past *pasts,
                     struct fault *fault);

/* Makes all parts, on as many threads as are wanted. */
bool parts_make(struct parts *parts, struct fault *fault);

#endif
