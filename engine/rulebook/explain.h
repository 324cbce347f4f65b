/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The chain behind one patient result: the facts that the walk carries at its run, each with the record behind it, what
 * each run rule says of it, and the findings that name it. */
#ifndef ASSIZE_RULEBOOK_EXPLAIN_H
#define ASSIZE_RULEBOOK_EXPLAIN_H

#include "rulebook/rulebook.h"
#include "timeline/presence.h"

struct explain_request {
    const struct rulebook *book;
    struct store *store;
    const struct program_settings *program;
    const struct site_settings *settings;
    const struct presence *presence; /* of all sites of the program */
    uint32_t presence_site;          /* this site's number there */
    struct text test;
    day_number from, to, as_of;
};

struct explained_fact {
    const char *name; /* of the table of facts */
    struct text value;
    struct record_place place; /* line 0: no record stands behind it */
};

struct explained_verdict {
    const struct rule_text *rule;
    struct text about; /* the clause, task or lot; absent for the run itself */
    bool failed;
};

struct explained_silence {
    const struct rule_text *rule;
    struct text why;
};

struct explanation {
    struct text test, site, performed_at;
    struct explained_fact *links;
    size_t link_count;
    struct explained_verdict *verdicts;
    size_t verdict_count;
    const struct finding **findings;
    size_t finding_count;
    struct explained_silence *silent; /* rules that were not judged */
    size_t silent_count;
    struct audit *audit; /* owns the findings */
    struct arena *arena;
};

/* *out is NULL if the site has no such test up to as-of. */
bool explain_test(struct explanation **out, const struct explain_request *request, struct fault *fault);
void explanation_free(struct explanation *explanation);

#endif
