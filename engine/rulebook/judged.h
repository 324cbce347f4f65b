/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a site's history to findings: the part that the audit and the examples in rule files share. */
#ifndef ASSIZE_RULEBOOK_JUDGED_H
#define ASSIZE_RULEBOOK_JUDGED_H

#include "rulebook/host.h"

struct growing { /* the arrays of the audit while they grow */
    struct finding *findings;
    size_t finding_count, finding_capacity;
    struct rule_at_site *rules;
    size_t rule_count, rule_capacity;
};

/* Judges a history by the host's rules; its findings, in order and numbered, and how each rule fared are put behind
 * those in `growing` (whose arrays the caller frees); their texts belong to the audit. */
void audit_history(struct host *host, struct audit *audit, struct growing *growing, const struct history *history,
                   const struct policies *policies, struct period period, struct site_result *result);

/* The days of a site's records, by the places that findings have as evidence. */
struct evidence_days;
struct evidence_days *evidence_days_new(const struct history *history);
void evidence_days_free(struct evidence_days *days);
/* Of the first record behind the finding; DAY_ABSENT: none of them happened on a day. */
day_number evidence_days_first(const struct evidence_days *days, const struct finding *finding);

/* Whether the rule was judged: what it cannot see is worth no warning where it is off. */
bool growing_judged(const struct growing *growing, const char *rule);

/* If nothing has been run at a site yet: a warning that says so, and what there is still to fill in. */
void audit_warn_of_site_to_begin(struct audit *audit, const struct history *history);
/* Places in the method files and in the period's readings that site.yaml does not list, or lists without limits, and
 * limits that no reading is held against: a warning for each. */
void audit_warn_of_places(struct audit *audit, const struct history *history, struct period period);
/* Tests of the period on days that site.yaml calls closed: a warning with their number. */
void audit_warn_of_closed_days(struct audit *audit, const struct history *history, struct period period);
/* Those of the rules whose affected tests can lie behind the failing event; they borrow what `book` has. */
struct rulebook *reaching_rules(const struct rulebook *book);
/* Results of the period that such rules (of the host `reaching`) put in doubt by days before it, and the findings in
 * `growing` do not: a warning with their number. */
void audit_warn_of_days_before(struct host *reaching, struct audit *audit, const struct growing *growing,
                               const struct history *history, const struct policies *policies, struct period period);
/* Controls of the period that cannot say what they seem to say: a warning for each lot and level. */
void audit_warn_of_controls(struct audit *audit, const struct growing *growing, const struct history *history,
                            struct period period);
/* Names of analyzers and methods in the period's records that no log or file lists, a warning for each; and runs whose
 * method cannot be told, a warning for each analyzer. */
void audit_warn_of_names(struct audit *audit, const struct history *history, struct period period);
/* Analyzers said to be replaced whose counter goes on with numbers missing: a warning for each. */
void audit_warn_of_counters(struct audit *audit, const struct growing *growing, const struct history *history,
                            struct period period);
/* Runs of the period that lack a cell without which some rule cannot judge them: a warning for each such column. */
void audit_warn_of_columns(struct audit *audit, const struct growing *growing, const struct history *history,
                           struct period period);
/* Entries of the period that count and do not say what they seem to (by somebody who was away, words for numbers,
 * unknown lots, actions without a word): a warning with their number for each such doubt. */
void audit_warn_of_entries(struct audit *audit, const struct history *history, struct period period);

#endif
