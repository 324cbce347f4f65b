/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands behind a fact: the row of a log, or the line of a setting with its own key, so that evidence and traces
 * name the line to look at. */
#ifndef ASSIZE_TIMELINE_BEHIND_H
#define ASSIZE_TIMELINE_BEHIND_H

#include "timeline/walk.h"

struct behind {
    struct place place; /* line 0: nothing */
    struct text file;   /* of a setting, relative to the site's folder; absent: place.file says it */
};

/* Borrows from the event and the history. A setting that is not written down is shown where its group begins, else
 * where the file does. */
struct behind behind_fact(const struct history *history, const struct event *event, int fact);
/* The key of a method file that a fact comes from, as "lot_check.by"; NULL for one that comes from no single key. */
const char *setting_of_fact(int fact);

#endif
