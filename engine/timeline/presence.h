/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where operators were: the spans of all runs of all sites of a program (from run_seconds before it was performed to
 * then), and which spans of one operator on two analyzers overlap. Filled before the sites are judged; about 70 bytes a
 * run. */
#ifndef ASSIZE_TIMELINE_PRESENCE_H
#define ASSIZE_TIMELINE_PRESENCE_H

#include "base/fault.h"
#include "intake/settings.h"
#include "store/store.h"

struct history;

struct presence_at {    /* of one run */
    bool two_analyzers; /* its operator has runs on two analyzers, at whatever sites */
    int32_t across,
        here; /* longest overlap in seconds with a run at another site, and on another analyzer here; 0 none */
};

struct presence;
struct presence *presence_new(void);
void presence_free(struct presence *presence);
OWNER(presence);

/* Adds a site's runs; sites are numbered from 0 in the order they are added. All names must be of one store. */
void presence_add(struct presence *presence, const struct history *history);
void presence_ready(struct presence *presence);
const struct presence_at *presence_of(const struct presence *presence, uint32_t site, uint32_t run);

/* All of it for the sites given (NULL among them: a site without settings, which gets a number, too, but has no runs).
 */
bool presence_read(struct presence **out, struct store *store, const struct site_settings *const *sites, size_t count,
                   day_number as_of, struct fault *fault);

#endif
