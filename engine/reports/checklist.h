/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A checklist for a review by hand: results drawn from a period, each with the chain behind it in short, from the same
 * facts as `assize trace`, and a box for each link: does the paper agree with the log? */
#ifndef ASSIZE_REPORTS_CHECKLIST_H
#define ASSIZE_REPORTS_CHECKLIST_H

#include "base/output.h"
#include "reports/document.h"
#include "rulebook/explain.h"

enum { CHECKS_MOST = 8, CHECK_PLACES_MOST = 4 };

struct check {
    const char *what; /* "operator" */
    struct text says; /* "OP-1, trained 2024-03-11, passed last 2026-02-10" */
    struct record_place places[CHECK_PLACES_MOST];
    size_t place_count;
};

struct checklist_item {
    const struct explanation *explanation;
    struct record_place place; /* of the test's own row */
    struct text specimen;
    struct check checks[CHECKS_MOST];
    size_t check_count;
};

struct checklist {
    struct text title, of; /* the name of the site or program; its id */
    bool has_sites;        /* of a program: each item says its site */
    bool is_redacted;      /* specimens are names that say so themselves: "specimen 17" */
    day_number from, to, as_of;
    double confidence, detect; /* above 0 and below 1 */
    uint64_t population, bad;  /* results of the period; how many of them make the share to be found */
    uint64_t seed;
    bool seed_was_given;
    char chain_head[65];
    struct checklist_item *items; /* by site and time */
    size_t count;
};

/* Fills an item from an explanation, which must outlive it. */
void checklist_item_fill(struct checklist_item *item, const struct explanation *explanation, struct record_place place,
                         struct arena *arena);

/* Sentences that all outputs say alike: what was drawn, what a bad one or none means, where the seed is from. */
struct text checklist_says_size(const struct checklist *checklist, struct arena *arena);
struct text checklist_says_outcome(const struct checklist *checklist, struct arena *arena);
struct text checklist_says_seed(const struct checklist *checklist, struct arena *arena);
struct text checklist_says_specimen(const struct checklist *checklist, const struct checklist_item *item,
                                    struct arena *arena);                 /* "specimen S-2906" */
struct text check_places(const struct check *check, struct arena *arena); /* "records/lots.csv:4, …"; or absent */

void checklist_json(const struct checklist *checklist, struct output *output);
struct document *checklist_page(const struct checklist *checklist);

#endif
