/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One view of an audit for all that people read: what is open, in which groups, the worst, the sums, and which rules
 * were silent. It counts and sorts; it decides nothing. */
#ifndef ASSIZE_REPORTS_VIEW_H
#define ASSIZE_REPORTS_VIEW_H

#include "findings/finding.h"

/* Findings of one rule at one site with one severity, in the audit's order. */
struct finding_group {
    const struct finding **findings;
    size_t count;
};

/* A rule that was not judged, or is switched off, for one reason at some sites; or that was judged by limits which a
 * policy set. */
struct rule_remark {
    const struct rule_text *rule;
    enum judged_state state;
    struct text why;                /* or what was set */
    const struct rule_at_site **at; /* by site */
    size_t count;
};

struct rule_sum { /* a rule where it was judged, over all sites */
    const struct rule_text *rule;
    size_t sites;
    uint64_t judged, met, findings;
};

struct view {
    struct arena *arena;
    const struct audit *audit;
    const struct site_result *only; /* NULL: all sites */
    size_t audited, missing;        /* sites */
    uint64_t tests, vouched, controls;

    size_t open[SEVERITY_COUNT], open_count; /* findings that are neither answered nor excused */
    const struct finding **worst;            /* the open ones, by findings_rank */
    struct finding_group *groups;            /* of the open ones: by site, severity, rule */
    size_t group_count;
    const struct finding **apart; /* the answered and excused ones, in the audit's order */
    size_t apart_count;

    struct rule_remark *silences;                 /* not judged before off; then by rule, reason */
    size_t silence_count, not_judged, off, broke; /* of these, and rules that broke somewhere */
    struct rule_remark *set;                      /* judged by limits that a policy set: by rule */
    size_t set_count;
    struct rule_sum *sums; /* by rule */
    size_t sum_count;
};

/* Borrows the audit. `only`: of one site alone, if not NULL. */
struct view *view_new(const struct audit *audit, const struct site_result *only);
void view_free(struct view *view);
OWNER(view);

const struct site_result *view_site(const struct view *view, struct text site); /* NULL if there is none */

/* Where to start: the worst open findings, one a rule and site, as its neighbours want the same remedy. Fills `out`
 * with at most `most`, returns how many. */
size_t view_first(const struct view *view, const struct finding **out, size_t most);

/* Severities that a silent rule would have had: whether results were vouched for without it. */
bool rule_is_serious(const struct rule_text *rule);

#endif
