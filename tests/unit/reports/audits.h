/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Audits built by hand, for the tests of reports. All texts are literals or lie in the audit's arena. */
#ifndef ASSIZE_TESTS_AUDITS_H
#define ASSIZE_TESTS_AUDITS_H

#include "findings/finding.h"

/* quarry-lane, October 2026, as of the 31st: 412 results, 371 vouched for; three findings (at-risk with two tests;
 * practice without a time; an excused one), a rule not judged, one off, one met; texts that want escaping. */
struct audit *audit_small(void);

struct audit *audit_clean(void); /* the same site without findings, everything judged and met */

/* Sites and findings in any number, findings with `tests` results each, spread over sites, severities and 40 rules. */
struct audit *audit_large(size_t sites, size_t findings, size_t tests);

#endif
