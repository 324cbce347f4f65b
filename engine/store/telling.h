/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a load says: the lines and counts of its report (load.h). */
#ifndef ASSIZE_STORE_TELLING_H
#define ASSIZE_STORE_TELLING_H

#include "store/load.h"
#include "store/update.h"

struct telling {
    struct load_report *report;
    size_t refusal_capacity, warning_capacity;
    bool names_sites; /* in front of refusals and warnings */
};

/* No site goes in front if `site` is absent. */
void tell_warning(struct telling *telling, struct text site, struct text text);
/* What was passed over, and each file's warnings, refusals and counts. */
void tell_site(struct telling *telling, const struct load_site *site, const struct lists *lists);
void tell_update(struct telling *telling, const struct record_kind *kind, const struct update *update);
/* Entries put in later among those that are known may be honest or not; who reads it knows whom to ask. */
void tell_early(struct telling *telling, struct text site, const struct lists *lists, const struct update *update);

#endif
