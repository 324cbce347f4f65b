/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The corrective actions of a site, as answers to its findings. */
#ifndef ASSIZE_FINDINGS_ANSWERS_H
#define ASSIZE_FINDINGS_ANSWERS_H

#include "findings/finding.h"
#include "timeline/history.h"

/* A row of the actions log, whether it names a finding or not; texts are kept in the arena. */
struct finding_answer answer_from(const struct history *history, const struct record *record, struct arena *arena);

/* Fills in answers and answer_count of `site` from the actions of its history; texts are kept in the arena. */
void answers_read(struct site_result *site, const struct history *history, struct arena *arena);

/* The action that counts for a finding whose last event is of the day `last` (DAY_ABSENT: it has none): one that covers
 * it, else the newest that is open, else the newest; NULL if none names it. */
const struct finding_answer *answer_of(const struct site_result *site, struct text number, day_number last);

/* Closed, not before it was opened, and verified by someone other than its owner. */
bool answer_settles(const struct finding_answer *answer);

/* It settles what happened up to the day `last`: what was closed before it happened is no answer to it. */
bool answer_covers(const struct finding_answer *answer, day_number last);

#endif
