/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What an audit found: findings, how each rule fared at each site, and the numbers of each site. Filled by the rulebook
 * room, read by reports/ and commands/. All memory belongs to the audit's arena; absent texts have data == NULL. */
#ifndef ASSIZE_FINDINGS_FINDING_H
#define ASSIZE_FINDINGS_FINDING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/calendar.h"
#include "base/memory.h"
#include "base/text.h"
#include "intake/settings.h"

enum severity {
    SEVERITY_AT_RISK,
    SEVERITY_BREACH,
    SEVERITY_PRACTICE,
    SEVERITY_NOTICE,
    SEVERITY_COUNT
};                                                 /* worst first */
const char *severity_name(enum severity severity); /* "at-risk" … */
bool severity_named(struct text name, enum severity *out);

enum finding_state { FINDING_NEW, FINDING_KNOWN, FINDING_ANSWERED, FINDING_EXCUSED };
const char *finding_state_name(enum finding_state state);

enum subject_field {
    SUBJECT_METHOD,
    SUBJECT_ANALYZER,
    SUBJECT_OPERATOR,
    SUBJECT_LOT,
    SUBJECT_LEVEL,
    SUBJECT_RECORD,
    SUBJECT_DETAIL,
    SUBJECT_COUNT,
};
const char *subject_field_name(enum subject_field field);

struct record_place { /* where a record stands: a path relative to the site folder, and its line */
    struct text file;
    uint32_t line;
};

struct affected_test {
    struct text test, operator_, analyzer, method, specimen, result; /* result as written */
    struct text performed_at;                                        /* as recorded */
    struct record_place place;
};

enum { FINDING_NUMBER_SIZE = 13 }; /* "F-GZPWR9QWFD" and a NUL */

/* A corrective action, as a row of the actions log has it. */
struct finding_answer {
    struct text action, finding, analyzer, about, problem, taken, owner, verified_by;
    day_number opened_on, due_on, closed_on; /* DAY_ABSENT */
    struct record_place place;
};

struct rule_text; /* below */
struct portrait;  /* portrait.h */

struct finding {
    char number[FINDING_NUMBER_SIZE];
    const struct rule_text *rule;
    enum severity severity;
    enum duty duty;
    enum finding_state state;
    struct text excuse;                  /* the reason, of an excused one */
    bool went_on;                        /* after the day of the first audit that had it excused, */
    day_number excused_first;            /* its as-of */
    const struct finding_answer *answer; /* answer_of; NULL: no action names it */
    day_number due_on;                   /* when it should be closed: as the open action says, else by severity;
                                            DAY_ABSENT if it is answered or excused */
    /* The answered finding that this one takes up again: its own number if it was found on a day after its latest
     * action was closed, that of an earlier finding of its rule and subject if it began after that one's was; else "".
     */
    char returned[FINDING_NUMBER_SIZE];
    struct text site;
    struct text subject[SUBJECT_COUNT];
    bool detail_is_attribute;       /* cleaning.daily: no part of subject, order or number */
    struct text from, to;           /* as printed; absent where no time applies */
    struct text first_key;          /* id or key of the first event, for numbers that would be shared; may be absent */
    day_number first_day, last_day; /* of the period, on which it was judged; DAY_ABSENT of states */
    uint64_t events;
    const struct affected_test **tests; /* in time order */
    size_t test_count;
    struct text says;     /* one plain sentence */
    struct text specimen; /* which the rule put into the subject or the sentence; absent if it put none there */
    struct record_place *evidence;
    size_t evidence_count;
};

struct rule_text { /* what a rule file says of itself */
    struct text id, title, remedy;
    struct text *basis;
    size_t basis_count;
    enum severity severity;
    enum duty duty;
    bool by; /* severity and duty come from the clause that asks: breach if law or insert, else practice */
    char sha256[DIGEST_HEX_SIZE]; /* of the rule file */
};

enum judged_state { RULE_JUDGED, RULE_NOT_JUDGED, RULE_OFF };
const char *judged_state_name(enum judged_state state); /* "judged", "not judged", "off" */

struct rule_at_site {
    const struct rule_text *rule;
    struct text site;
    enum judged_state state;
    struct text why; /* of the last two: "no temperatures log"; the policy's reason; what broke */
    bool broke;      /* the rule failed as a program: exit status 2 */
    struct text set; /* of a judged one: limits that a policy sets otherwise than the rule does; absent if none */
    uint64_t judged, met, findings;
};

struct site_result {
    struct text site, name;
    bool missing;                            /* its settings are bad: not audited */
    struct text why;                         /* of a missing site */
    uint64_t tests, controls, tests_vouched; /* of the period; vouched: method known, and no finding doubts it */
    size_t first_finding, finding_count;     /* its part of audit.findings */
    struct finding_answer *answers;          /* actions that name a finding: by that, then the one that counts first */
    size_t answer_count;
    struct portrait *portrait; /* what it looked like (portrait.h), if the audit was asked for it */
};

struct earlier_finding { /* what an audit before this one found */
    char number[FINDING_NUMBER_SIZE];
    struct text site, rule; /* rule: its id; absent if the store does not know it */
};

struct audit {
    struct arena *arena;
    struct audit **parts; /* what was made site by site: only their memory is used here */
    size_t part_count;
    struct names *shared;              /* texts that many affected tests have alike: analyzers, operators, file paths */
    struct text program, program_name; /* absent for a lone site */
    day_number from, to, as_of;
    struct site_result *sites; /* by site, bytes */
    size_t site_count;
    struct rule_at_site *rules; /* by site, rule, bytes */
    size_t rule_count;
    struct finding *findings; /* by site, rule, subject fields (absent first), from, all by bytes */
    size_t finding_count;
    /* Since the latest audit of an earlier as-of in the same store: open then, answered now. */
    day_number closed_since; /* as-of of that audit; DAY_ABSENT if there is none */
    struct earlier_finding *closed;
    size_t closed_count;
    /* Since the latest audit of the same period with an earlier as-of: found then, not found now. */
    day_number gone_since;
    struct earlier_finding *gone;
    size_t gone_count;
    /* Of the audits with the same period and as-of that this one takes the place of, and of those that looked last at a
     * day of this one's: found by one, not found now. Of the latter not what `gone` has. */
    struct earlier_finding *lost;
    size_t lost_count;
    struct text *warnings; /* a policy for a rule that is not there, … */
    size_t warning_count, warning_capacity;
    struct text *chain_heads; /* of the stores it was made from, each once, by bytes; hex */
    size_t chain_head_count;
    struct named_digest *settings; /* the files that it was judged by, as settings_files names them */
    size_t settings_count;
    char chain_head[DIGEST_HEX_SIZE]; /* for pages that stand alone; "" where a manifest has it */
};

struct audit *audit_new(void);
void audit_free(struct audit *audit);
OWNER(audit);

/* Worst first: severity, then affected tests, then the order of audit.findings. Fills `out` (`count` entries). */
void findings_rank(const struct finding *findings, size_t count, const struct finding **out);

bool finding_is_open(const struct finding *finding); /* neither answered nor excused */

/* The day of a time or date as a finding has it; DAY_ABSENT: it has none. */
day_number finding_day(struct text printed);

/* The day of the last event, or of the last result affected if that came later; DAY_ABSENT: it has no day of its own.
 */
day_number finding_last_day(const struct finding *finding);

/* The number: `F-` and 50 bits of SHA-256 over rule, site, the seven subject fields (absent as empty) and from, joined
 * by 0x1F; `more` (may be absent) is appended as one more part where findings would share a number. */
void finding_number(const struct finding *finding, struct text more, char out[FINDING_NUMBER_SIZE]);

#endif
