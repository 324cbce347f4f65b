/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where operators were: each run is a span of time (from run_seconds before it was performed to then), and two spans of
 * one operator on two analyzers may overlap, at a site or across sites. An operator is one person at all sites,
 * whatever store these are in: ids are compared by their text.
 *
 * A presence holds the spans of those operators alone that work at more than one site; it is filled before the sites
 * are judged, then only read. The overlaps of a site are found from its own history and it, site by site. */
#ifndef ASSIZE_TIMELINE_PRESENCE_H
#define ASSIZE_TIMELINE_PRESENCE_H

#include "base/fault.h"
#include "intake/settings.h"
#include "store/stores.h"

struct history;

struct presence_at {    /* of one run */
    bool two_analyzers; /* its operator has runs on two analyzers, at whatever sites */
    int32_t across,
        here; /* longest overlap in seconds with a run at another site, and on another analyzer here; 0 none */
    struct text elsewhere; /* site and time of the run behind `across`; absent if there is none */
};

struct presence;
void presence_free(struct presence *presence);
OWNER(presence);

struct presence_site {
    const struct site_settings *settings; /* NULL: a site without settings, which has no runs */
    size_t store;                         /* number of its store */
};

/* Sites are numbered as given, in any order of their stores. Their settings must outlive the presence. */
bool presence_read(struct presence **out, const struct stores *stores, const struct presence_site *sites, size_t count,
                   day_number as_of, struct fault *fault);

/* Fills history->overlaps, one a run. `presence` may be NULL: of a site that stands alone. */
void presence_find(struct history *history, const struct presence *presence, size_t site);

#endif
