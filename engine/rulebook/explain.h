/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The chain behind patient results: the facts that the walk carries at a result's run, each with the record behind it,
 * what each run rule says of it, and the findings that name it. However many are asked for, the site is walked once. */
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
    day_number from, to, as_of;
    bool redact; /* hide specimen ids: redact.h */
};

struct explained_fact {
    int fact;         /* of the table of facts */
    const char *name; /* of the table of facts */
    struct text value;
    struct record_place place; /* line 0: no record stands behind it */
};

struct explained_verdict {
    const struct rule_text *rule;
    struct text about; /* the clause, task or lot; absent for the run itself */
    bool failed;
};

struct explained_control { /* the good controls of a level on either side of the run, on its analyzer and method */
    struct text level;
    struct text before, after; /* when; absent: there is none */
    struct record_place before_place, after_place;
    size_t failed_between;
};

struct explained_silence {
    const struct rule_text *rule;
    enum judged_state state; /* RULE_NOT_JUDGED or RULE_OFF */
    struct text why;
};

struct explanation {
    struct text test, site, performed_at;
    bool known; /* false: the site has no such test up to as-of, and nothing else is filled in */
    struct explained_fact *links;
    size_t link_count;
    struct explained_verdict *verdicts;
    size_t verdict_count;
    struct explained_control *controls; /* as the method's levels */
    size_t control_count;
    const struct finding **findings;
    size_t finding_count;
};

struct explanations {
    struct explanation *all; /* as the tests asked for */
    size_t count;
    struct explained_silence *silent; /* rules that were not judged, or are off */
    size_t silent_count;
    struct audit *audit; /* owns the findings */
    struct arena *arena;
};

/* `tests` are ids of the site that the settings are of, each once. */
bool explain_tests(struct explanations **out, const struct explain_request *request, const struct text *tests,
                   size_t count, struct fault *fault);
void explanations_free(struct explanations *explanations);
OWNER(explanations);

#endif
