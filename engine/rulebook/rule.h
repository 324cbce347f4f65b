/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A rule as its file declares it, checked at load: every field that is wrong is named with file and field. */
#ifndef ASSIZE_RULEBOOK_RULE_H
#define ASSIZE_RULEBOOK_RULE_H

#include "findings/streaks.h"
#include "rulebook/sandbox.h"

enum {
    RULE_FACTS_MOST = 16,
    RULE_PARAMETERS_MOST = 8,
    RULE_ATTRIBUTES_MOST = 4,
    RULE_BASIS_MOST = 100,
    RULE_WORDS_MOST = 100, /* of a parameter */
    RULE_WORDS_SIZE_MOST = 4096,
    RULE_EXAMPLES_MOST = 1000,
    RULE_TEXT_MOST = 1000, /* bytes of any text, and of all of the basis: pages take long to set them */
    SAYS_MOST = 1000,      /* bytes of a sentence as told */
    SAYS_FILLS_MOST = 64,  /* places in it that are filled in */
};

enum parameter_type { PARAMETER_NUMBER, PARAMETER_YES_NO, PARAMETER_TEXT, PARAMETER_WORDS };
const char *parameter_type_name(enum parameter_type type);

struct parameter_value {
    bool present;
    double number;
    bool yes;
    struct text text; /* of TEXT; of WORDS the list joined by blanks */
};

struct rule_parameter {
    struct text name, unit, meaning;
    const char *method_key; /* "competency.every_months": the method file's key that goes before all; or NULL */
    enum parameter_type type;
    struct parameter_value standard; /* the rule's default; may be absent */
    bool has_off;                    /* the rule is off where the parameter equals `off` */
    double off;
};

struct rule_argument {
    bool parameter; /* else a fact */
    int number;     /* of rule->parameters, or a fact_id */
    bool optional;  /* "name?": the rule handles its absence */
};

struct rule_fact { /* an argument that is a fact */
    int id;
    enum fact_type type;
    bool optional;
};

enum subject_from {
    FROM_NOTHING,
    FROM_FACT,
    FROM_RECORD /* the event's own record, as printed */,
    FROM_JUDGE /* a site rule tells */
};

struct rule_subject {
    enum subject_from from;
    int fact;
};

enum rule_affects { AFFECTS_FAILING, AFFECTS_NONE, AFFECTS_FUNCTION };

struct says_part { /* literal text, then a placeholder (name absent in the last) */
    struct text literal, name;
    struct text form; /* behind a colon: "day", "time", or the word to count: "run", "entry:entries" */
};

struct rule {
    struct rule_text text;
    struct text file, source; /* as shown in messages */
    struct text folder;       /* of rules, whose parts it may use */
    struct text about;        /* more words, where the title does not say all; may be absent */
    bool site_rule;           /* judges a site's records itself */
    enum fact_scope on;
    enum finding_shape shape;
    const struct record_kind *needs; /* the log without which it is not judged, or NULL */
    struct rule_subject subject[SUBJECT_COUNT];
    int by_fact;      /* the fact that names the duty, or -1 */
    int from_fact;    /* the fact with the place of the run that a finding begins at, or -1: the event itself */
    size_t long_text; /* bytes that each of its findings shows beside its sentence, beyond what rules usually do */
    struct text attributes[RULE_ATTRIBUTES_MOST]; /* values of `detail` that are no part of the subject, worst first */
    size_t attribute_count;
    struct rule_argument arguments[RULE_FACTS_MOST];
    size_t argument_count;
    struct rule_fact facts[RULE_FACTS_MOST]; /* of the arguments, in their order */
    size_t fact_count;
    struct rule_parameter parameters[RULE_PARAMETERS_MOST];
    size_t parameter_count;
    enum rule_affects affects;
    struct says_part *says;
    size_t says_count;
};

/* Reads the rule table at the top of the stack (and leaves it there) into *out; texts are copied to the arena. */
bool rule_read(lua_State *lua, struct arena *arena, struct text file, struct text source, struct rule *out,
               struct fault *fault);

/* Is a fact of scope `of` known at the events of scope `on`? */
bool scope_has(enum fact_scope on, enum fact_scope of);

#endif
