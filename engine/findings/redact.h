/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hides specimen ids from readers who need not know them: each becomes "specimen 17", counted at its site from the
 * first on, so that one specimen keeps one name in all that is made of the same records. A finding's number stays what
 * it was. */
#ifndef ASSIZE_FINDINGS_REDACT_H
#define ASSIZE_FINDINGS_REDACT_H

#include "findings/finding.h"
#include "timeline/history.h"

struct redaction;
struct redaction *redaction_new(const struct history *history);
void redaction_free(struct redaction *redaction);
OWNER(redaction);

/* Also those of tests that were withdrawn, had another specimen once, or are of days after the as-of, which somebody
 * may have written about; they are counted behind the others. */
bool redaction_add_stored(struct redaction *redaction, struct store *store, struct fault *fault);

/* The name that stands for the specimen; the text itself if no specimen of the site has it. */
struct text redacted(const struct redaction *redaction, struct text specimen, struct arena *arena);

/* What people wrote, with each specimen's id in it replaced; a number of fewer than five figures is left, as it may be
 * any figure. */
struct text redacted_words(const struct redaction *redaction, struct text words, struct arena *arena);

/* What actions are about, the finding and the people they name, problems, and what was done about them; the reasons of
 * rules that are off. */
void redact_answers(const struct redaction *redaction, struct finding_answer *answers, size_t count,
                    struct arena *arena);
void redact_reasons(const struct redaction *redaction, struct rule_at_site *rules, size_t count, struct arena *arena);

/* In the results that the findings affect, in subjects and sentences that name a specimen, and in excuses. */
void redact_findings(const struct redaction *redaction, struct finding *findings, size_t count, struct arena *arena);

#endif
