/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rulebook: all rules of one or more folders, and the audit of sites by them. */
#ifndef ASSIZE_RULEBOOK_RULEBOOK_H
#define ASSIZE_RULEBOOK_RULEBOOK_H

#include "base/progress.h"
#include "findings/finding.h"
#include "intake/folder.h"
#include "rulebook/rule.h"
#include "store/stores.h"

struct shared_part { /* Lua that several rules use: rules/shared/NAME.lua */
    struct text name, file, source;
    struct text folder; /* whose rules may use it */
    bool installed;     /* of the first folder, whose parts all rules may use */
};

struct rulebook {
    struct arena *arena;
    struct rule *rules; /* by id */
    size_t count, capacity;
    struct shared_part *shared;
    size_t shared_count, shared_capacity;
    size_t folder_count;
    struct broken_file { /* files that are no rules: the audit goes on without them and says so */
        struct text file, why;
    } * broken;
    size_t broken_count, broken_capacity;
};

/* The folder of the rules that came with the program: beside the executable (build tree) or PREFIX/share/assize/rules.
 * Static storage is not used: the caller frees the path with memory_free. */
bool rulebook_home(char **path, struct fault *fault);

struct rulebook *rulebook_new(void);
/* Reads every .lua file below the folder into the book; messages call the folder `shown`. A file that is no rule is
 * kept in `broken`; an id that exists already is a fault. */
bool rulebook_add(struct rulebook *book, const char *folder, const char *shown, struct fault *fault);
/* Only the parts that its rules share. */
bool rulebook_add_parts(struct rulebook *book, const char *folder, const char *shown, struct fault *fault);
/* Makes `shared "name"` known in a sandbox: it runs the part in an environment of its own and gives what that returns.
 * `sharing` is borrowed as long as the sandbox lives. */
struct sharing {
    const struct rulebook *book;
    struct text folder; /* of the rule in hand */
};
void rulebook_share(struct sandbox *sandbox, const struct sharing *sharing);
const struct rule *rulebook_find(const struct rulebook *book, struct text id);
void rulebook_free(struct rulebook *book);
OWNER(rulebook);

/* ---- parameters in force ---- */

struct policies { /* what may set a parameter, the strongest first behind the method file */
    const struct policy *site, *program;
};

enum parameter_origin { FROM_METHOD_FILE, FROM_SITE_POLICY, FROM_PROGRAM_POLICY, FROM_RULE };

/* The value of a parameter: method file, then site policy, then program policy, then the rule's default. */
struct parameter_value parameter_in_force(const struct rule *rule, const struct rule_parameter *parameter,
                                          const struct method_settings *method, const struct policies *policies,
                                          enum parameter_origin *origin);

/* The line that sets it; absent where it is the rule's default. */
struct where parameter_where(const struct rule *rule, const struct rule_parameter *parameter,
                             const struct method_settings *method, const struct policies *policies);
/* "12", "yes", "none"; and "12 months", "yes", "not set". */
struct text parameter_text(const struct rule_parameter *parameter, struct parameter_value value, struct arena *arena);
struct text parameter_with_unit(const struct rule_parameter *parameter, struct parameter_value value,
                                struct arena *arena);

/* Is the rule off, by `off: reason` or by a parameter's off value? */
bool rule_is_off(const struct rule *rule, const struct policies *policies, struct arena *arena, struct text *why);

/* "days: 9000 days instead of 30 days (site.yaml:36)": what a policy sets otherwise than the rule; absent if nothing.
 */
struct text policy_sets(const struct rule *rule, const struct policies *policies, struct arena *arena);

/* Parameters that are not the rule's, or of the wrong type, are faults; rules that are not there, warnings. `folder`
 * goes before the site's file in messages: "sites/east/" in a program, else "". */
bool policy_check(const struct rulebook *book, const struct policy *policy, struct text folder, struct arena *arena,
                  struct audit *warnings, struct fault *fault);

/* ---- the audit ---- */

struct audit_site { /* a site to be judged; `why` instead of settings if these are bad */
    struct text site;
    const struct site_settings *settings;
    struct text why;
    size_t store; /* number of the store that has its records */
};

struct audit_request {
    const struct rulebook *book;
    const struct stores *stores;
    const struct program_settings *program;
    const struct audit_site *sites; /* in the byte order of their names */
    size_t site_count;
    day_number from, to, as_of;
    struct text only; /* judge this site alone, if present; operators are still seen at all sites */
    bool portraits;   /* fill site_result.portrait */
    struct progress progress;
    size_t threads; /* that judge sites side by side; 0 is 1 */
    bool redact;    /* hide specimen ids: redact.h */
    bool keep;      /* keep its numbers in the stores, each with those of its sites; a store that is open already must
                       be open for writing */
};

bool audit_run(struct audit **out, const struct audit_request *request, struct fault *fault);
void audit_add_warning(struct audit *audit, struct text warning);

#endif
