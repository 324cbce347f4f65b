/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every report for people says in the same words: counts, periods, who asks, the verdict, the cautions. The texts
 * live in the arena that is given, or for ever. */
#ifndef ASSIZE_REPORTS_PHRASES_H
#define ASSIZE_REPORTS_PHRASES_H

#include "reports/view.h"

struct text phrase_number(struct arena *arena, uint64_t number); /* "12,345" */
/* "1 result", "14 results": `many` is used for all but 1. */
struct text phrase_count(struct arena *arena, uint64_t number, const char *one, const char *many);

/* "90.0 %": cut, not rounded, to a tenth of a percent, so that only all of all is 100.0 %. */
struct text phrase_share(struct arena *arena, uint64_t count, uint64_t total);
/* "90.0 %", of the results that are vouched for; "At most 90.0 %" where not all rules could be judged. */
struct text phrase_vouched(struct arena *arena, const struct view *view);
/* "86.7 to 92.6 %": the 95 % Wilson interval, its ends rounded outwards. */
struct text phrase_interval(struct arena *arena, uint64_t count, uint64_t total);

struct text phrase_day(struct arena *arena, day_number day);                    /* "2026-10-31"; "–" if absent */
struct text phrase_period(struct arena *arena, day_number from, day_number to); /* "October 2026", "2026-10-01 to …" */
/* "2026-10-07 09:12 to 16:40"; absent where no time applies. */
struct text phrase_when(struct arena *arena, const struct finding *finding);
struct text phrase_subject(struct arena *arena, const struct finding *finding); /* "analyzer A1, lot K118"; or absent */
/* "records/tests.csv, lines 105, 106 and 110 to 118; records/lots.csv, line 4" */
struct text phrase_evidence(struct arena *arena, const struct finding *finding);
struct text phrase_sites(struct arena *arena, const struct rule_remark *remark); /* "quarry-lane and 3 more sites" */

struct text audit_title(const struct audit *audit); /* the program's or the site's name */
bool audit_has_sites(const struct audit *audit);    /* more than one: then findings say theirs */
struct text site_title(const struct site_result *site);

/* The one sentence that a reader takes away, from the numbers alone. */
struct text phrase_verdict(struct arena *arena, const struct view *view);
/* "15 findings: 6 at-risk, 2 breach, 5 practice, 2 notice; 1 more is answered or excused." */
struct text phrase_findings(struct arena *arena, const struct view *view);

const char *severity_meaning(enum severity severity); /* "patient results may be wrong" */
const char *duty_asker(enum duty duty);               /* "the package insert" */

/* The reason of an excused finding, and how much of it came after it was excused. */
struct text phrase_excuse(struct arena *arena, const struct finding *finding);

#endif
