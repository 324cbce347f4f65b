/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The people of a site's operators log, found by what somebody wrote for them: an id or a name, in any case. */
#ifndef ASSIZE_RULEBOOK_PEOPLE_H
#define ASSIZE_RULEBOOK_PEOPLE_H

#include "timeline/history.h"

struct people;
/* Borrows the history. */
struct people *people_new(const struct history *history);
void people_free(struct people *people);
OWNER(people);

/* NULL: nobody is called so. Of several, as two with one name, who is there that day. */
const struct record *people_find(const struct people *people, struct text id_or_name, day_number day);
/* Between the first and the last day at the site, both included. */
bool person_is_there(const struct record *person, day_number day);

#endif
