/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "findings/finding.h"

#include <stdlib.h>
#include <string.h>

#include "base/digest.h"

static const char *const severity_names[] = {"at-risk", "breach", "practice", "notice"};
static const char *const state_names[] = {"new", "known", "answered", "excused"};
static const char *const judged_names[] = {"judged", "not judged", "off"};
static const char *const field_names[] = {"method", "analyzer", "operator", "lot", "level", "record", "detail"};

const char *severity_name(enum severity severity) { return severity_names[severity]; }

bool severity_named(struct text name, enum severity *out)
{
    for (enum severity severity = SEVERITY_AT_RISK; severity < SEVERITY_COUNT; severity++)
        if (text_is(name, severity_names[severity])) {
            *out = severity;
            return true;
        }
    return false;
}

const char *finding_state_name(enum finding_state state) { return state_names[state]; }

const char *judged_state_name(enum judged_state state) { return judged_names[state]; }

const char *subject_field_name(enum subject_field field) { return field_names[field]; }

struct audit *audit_new(void)
{
    struct audit *audit = memory_new(sizeof *audit);
    audit->arena = arena_new();
    audit->shared = names_new();
    return audit;
}

void audit_free(struct audit *audit)
{
    if (audit == NULL)
        return;
    for (size_t i = 0; i < audit->part_count; i++)
        audit_free(audit->parts[i]);
    names_free(audit->shared);
    arena_free(audit->arena);
    memory_free(audit);
}

static int worse_first(const void *a, const void *b)
{
    const struct finding *one = *(const struct finding *const *)a, *other = *(const struct finding *const *)b;
    if (one->severity != other->severity)
        return one->severity < other->severity ? -1 : 1;
    if (one->test_count != other->test_count)
        return one->test_count > other->test_count ? -1 : 1;
    return one < other ? -1 : one > other; /* both lie in audit.findings: its order */
}

void findings_rank(const struct finding *findings, size_t count, const struct finding **out)
{
    for (size_t i = 0; i < count; i++)
        out[i] = &findings[i];
    if (count > 0)
        qsort(out, count, sizeof(void *), worse_first);
}

bool finding_is_open(const struct finding *finding)
{
    return finding->state == FINDING_NEW || finding->state == FINDING_KNOWN;
}

day_number finding_day(struct text printed)
{
    day_number day = DAY_ABSENT;
    if (printed.size >= DAY_TEXT_SIZE - 1)
        day_parse((struct text){printed.data, DAY_TEXT_SIZE - 1}, &day, NULL);
    return day;
}

day_number finding_last_day(const struct finding *finding)
{
    day_number last = finding_day(finding->to);
    for (size_t i = 0; last != DAY_ABSENT && i < finding->test_count; i++) {
        day_number day = finding_day(finding->tests[i]->performed_at);
        if (day != DAY_ABSENT && day > last)
            last = day;
    }
    return last;
}

static void add_part(struct digest *digest, struct text part) { digest_add(digest, part.data, part.size); }

void finding_number(const struct finding *finding, struct text more, char out[FINDING_NUMBER_SIZE])
{
    AUTO(digest) digest = digest_new();
    add_part(digest, finding->rule->id);
    digest_add(digest, "\x1f", 1);
    add_part(digest, finding->site);
    for (enum subject_field field = 0; field < SUBJECT_COUNT; field++) {
        digest_add(digest, "\x1f", 1);
        if (field != SUBJECT_DETAIL || !finding->detail_is_attribute)
            add_part(digest, finding->subject[field]);
    }
    digest_add(digest, "\x1f", 1);
    add_part(digest, finding->from);
    if (more.data != NULL) {
        digest_add(digest, "\x1f", 1);
        add_part(digest, more);
    }
    unsigned char bytes[DIGEST_SIZE];
    digest_end(digest, bytes);
    memcpy(out, "F-", 2);
    digest_base32(bytes, out + 2);
}
