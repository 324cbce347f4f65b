/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What an audit has to do with those before it: which findings are known, by when each is to be closed, which came back
 * after they were answered, what was closed and what is gone since; and its own findings are kept for those to come.
 * Only audits of an earlier as-of count, so an audit made again says the same. */
#include <stdlib.h>
#include <string.h>

#include "findings/answers.h"
#include "rulebook/judged.h"

struct looking { /* back, from an audit */
    struct audit *audit;
    const struct audit_request *request;
    struct store *store;
    struct audit_key key;
    struct fault *fault;
};

static bool is_open(const struct finding *finding)
{
    return finding->state == FINDING_NEW || finding->state == FINDING_KNOWN;
}

/* ---- by when ----------------------------------------------------------------------------------------------------- */

struct due_days { /* after the as-of of the first audit that found it */
    bool known[SEVERITY_COUNT];
    day_number days[SEVERITY_COUNT];
};

static const struct site_settings *settings_of(const struct audit_request *request, struct text site)
{
    for (size_t i = 0; i < request->site_count; i++)
        if (text_equal(request->sites[i].site, site))
            return request->sites[i].settings;
    return NULL;
}

/* The parameters of actions.overdue, where policy sets them. */
static struct due_days due_days_of(const struct looking *looking, struct text site)
{
    static const char *const names[SEVERITY_COUNT] = {"at_risk_days", "breach_days", "practice_days", "notice_days"};
    const struct rule *rule = rulebook_find(looking->request->book, TEXT("actions.overdue"));
    const struct site_settings *settings = settings_of(looking->request, site);
    struct policies policies = {settings ? &settings->policy : NULL, &looking->request->program->policy};
    struct due_days due = {{false}, {0}};
    for (size_t i = 0; rule && i < rule->parameter_count; i++)
        for (int severity = 0; severity < SEVERITY_COUNT; severity++) {
            if (!text_is(rule->parameters[i].name, names[severity]))
                continue;
            struct parameter_value value = parameter_in_force(rule, &rule->parameters[i], NULL, &policies, NULL);
            due.known[severity] = value.present && value.number >= 0 && value.number <= DAY_LAST;
            if (due.known[severity])
                due.days[severity] = (day_number)value.number;
        }
    return due;
}

static void fill_due(struct finding *finding, const struct due_days *due, day_number first_as_of)
{
    const struct finding_answer *answer = finding->answer;
    finding->due_on = DAY_ABSENT;
    if (!is_open(finding))
        return;
    if (answer && answer->closed_on == DAY_ABSENT && answer->due_on != DAY_ABSENT)
        finding->due_on = answer->due_on;
    else if (due->known[finding->severity] && first_as_of + due->days[finding->severity] <= DAY_LAST)
        finding->due_on = first_as_of + due->days[finding->severity];
}

static bool compare_finding(const struct looking *looking, struct finding *finding, const struct due_days *due)
{
    struct finding_past past;
    if (!store_finding_past(looking->store, finding->number, looking->key.as_of, &past, looking->fault))
        return false;
    if (past.found && finding->state == FINDING_NEW)
        finding->state = FINDING_KNOWN;
    fill_due(finding, due, past.found ? past.first_as_of : looking->key.as_of);
    return true;
}

/* ---- what came back ---------------------------------------------------------------------------------------------- */

struct settled { /* a finding that an action settles */
    const struct finding_answer *answer;
    struct text subject;
};

/* The number that all findings of the rule, site and subject would have without a beginning. */
static struct text subject_number(const struct finding *finding, struct arena *arena)
{
    char number[FINDING_NUMBER_SIZE];
    struct finding always = *finding;
    always.from = (struct text){0};
    finding_number(&always, (struct text){0}, number);
    return text_keep(arena, text_of(number));
}

/* The day of a time or date as printed. */
static day_number day_of(struct text printed)
{
    day_number day = DAY_ABSENT;
    if (printed.size >= DAY_TEXT_SIZE - 1)
        day_parse((struct text){printed.data, DAY_TEXT_SIZE - 1}, &day, NULL);
    return day;
}

/* The last day on which it was found: a state is found on the last day that was looked at. */
static day_number last_day(const struct audit *audit, const struct finding *finding)
{
    day_number day = day_of(finding->to);
    if (day == DAY_ABSENT)
        day = audit->to < audit->as_of ? audit->to : audit->as_of;
    return day;
}

static struct settled *settled_at(const struct looking *looking, const struct site_result *site, size_t *count,
                                  bool *ok)
{
    struct settled *settled = memory_new((site->answer_count + 1) * sizeof *settled);
    struct arena *arena = looking->audit->arena;
    *count = 0;
    for (size_t i = 0; *ok && i < site->answer_count; i++) {
        const struct finding_answer *answer = &site->answers[i];
        struct kept_finding kept;
        bool there = false;
        if (!answer_settles(answer))
            continue;
        const char *number = text_string(arena, answer->finding);
        *ok = store_kept_finding(looking->store, number, arena, &kept, &there, looking->fault);
        if (*ok && there && kept.subject.data != NULL)
            settled[(*count)++] = (struct settled){answer, kept.subject};
    }
    return settled;
}

/* An open finding that began after an earlier one of its subject was closed. */
static void find_earlier(struct finding *finding, struct text subject, const struct settled *settled, size_t count)
{
    day_number from = day_of(finding->from), latest = DAY_ABSENT;
    for (size_t i = 0; i < count; i++) {
        const struct finding_answer *answer = settled[i].answer;
        if (!text_equal(settled[i].subject, subject) || answer->closed_on >= from || answer->closed_on <= latest)
            continue;
        latest = answer->closed_on;
        memcpy(finding->returned, answer->finding.data, FINDING_NUMBER_SIZE - 1);
    }
}

static bool find_returned(const struct looking *looking, const struct site_result *site)
{
    struct audit *audit = looking->audit;
    size_t count;
    bool ok = true;
    struct settled *settled = settled_at(looking, site, &count, &ok);
    for (size_t i = 0; ok && i < site->finding_count; i++) {
        struct finding *finding = &audit->findings[site->first_finding + i];
        if (finding->state == FINDING_ANSWERED && last_day(audit, finding) > finding->answer->closed_on)
            memcpy(finding->returned, finding->number, sizeof finding->returned);
        if (is_open(finding) && finding->from.data != NULL && count > 0)
            find_earlier(finding, subject_number(finding, audit->arena), settled, count);
    }
    memory_free(settled);
    return ok;
}

/* ---- what was closed, what is gone ------------------------------------------------------------------------------- */

struct gathering {
    const struct looking *looking;
    const char **numbers; /* of this audit, sorted */
    struct earlier_finding *found;
    size_t count, capacity;
};

static void gather(struct gathering *gathering, const struct kept_finding *kept)
{
    struct arena *arena = gathering->looking->audit->arena;
    VECTOR_GROW(gathering->found, gathering->count, gathering->capacity);
    struct earlier_finding *earlier = &gathering->found[gathering->count++];
    *earlier = (struct earlier_finding){.site = text_keep(arena, kept->site), .rule = text_keep(arena, kept->rule)};
    if (kept->number.size < sizeof earlier->number)
        memcpy(earlier->number, kept->number.data, kept->number.size);
}

static const struct site_result *site_of(const struct audit *audit, struct text site)
{
    for (size_t i = 0; i < audit->site_count; i++)
        if (text_equal(audit->sites[i].site, site) && !audit->sites[i].missing)
            return &audit->sites[i];
    return NULL;
}

static void take_closed(void *context, const struct kept_finding *kept)
{
    struct gathering *gathering = context;
    const struct site_result *site = site_of(gathering->looking->audit, kept->site);
    bool was_open = text_is(kept->state, finding_state_name(FINDING_NEW)) ||
                    text_is(kept->state, finding_state_name(FINDING_KNOWN));
    const struct finding_answer *answer = site && was_open ? answer_of(site, kept->number) : NULL;
    if (answer && answer_settles(answer))
        gather(gathering, kept);
}

/* A rule that is not judged any more has not found that all is well. */
static bool is_judged(const struct audit *audit, struct text rule, struct text site)
{
    for (size_t i = 0; i < audit->rule_count; i++)
        if (text_equal(audit->rules[i].site, site) && text_equal(audit->rules[i].rule->id, rule))
            return audit->rules[i].state == RULE_JUDGED && !audit->rules[i].broke;
    return false;
}

static int by_string(const void *a, const void *b) { return strcmp(*(const char *const *)a, *(const char *const *)b); }

static void take_gone(void *context, const struct kept_finding *kept)
{
    struct gathering *gathering = context;
    const struct audit *audit = gathering->looking->audit;
    const char *number = kept->number.data;
    if (bsearch(&number, gathering->numbers, audit->finding_count, sizeof number, by_string) == NULL &&
        is_judged(audit, kept->rule, kept->site))
        gather(gathering, kept);
}

/* What `take` picks of the findings of the audit before; *since is its as-of. */
static bool look_at_one_before(const struct looking *looking, bool same_period, kept_finding_function *take,
                               struct gathering *gathering, day_number *since)
{
    struct audit_key before;
    bool there;
    gathering->looking = looking;
    *since = DAY_ABSENT;
    if (!store_audit_before(looking->store, &looking->key, same_period, &before, &there, looking->fault))
        return false;
    if (!there)
        return true;
    *since = before.as_of;
    return store_audit_findings(looking->store, &before, take, gathering, looking->fault);
}

static struct earlier_finding *hand_out(struct gathering *gathering, struct arena *arena, size_t *count)
{
    struct earlier_finding *found = arena_take(arena, (gathering->count + 1) * sizeof *found);
    if (gathering->count)
        memcpy(found, gathering->found, gathering->count * sizeof *found);
    *count = gathering->count;
    memory_free(gathering->found);
    return found;
}

static bool find_closed_and_gone(const struct looking *looking)
{
    struct audit *audit = looking->audit;
    struct gathering closed = {0}, gone = {0};
    gone.numbers = memory_new((audit->finding_count + 1) * sizeof *gone.numbers);
    for (size_t i = 0; i < audit->finding_count; i++)
        gone.numbers[i] = audit->findings[i].number;
    qsort(gone.numbers, audit->finding_count, sizeof *gone.numbers, by_string);
    bool ok = look_at_one_before(looking, false, take_closed, &closed, &audit->closed_since) &&
              look_at_one_before(looking, true, take_gone, &gone, &audit->gone_since);
    audit->closed = hand_out(&closed, audit->arena, &audit->closed_count);
    audit->gone = hand_out(&gone, audit->arena, &audit->gone_count);
    memory_free(gone.numbers);
    return ok;
}

/* ---- keeping ----------------------------------------------------------------------------------------------------- */

static bool keep_audit(const struct looking *looking)
{
    const struct audit *audit = looking->audit;
    struct audit_sum *sums = memory_new((audit->site_count + 1) * sizeof *sums);
    struct kept_finding *findings = memory_new((audit->finding_count + 1) * sizeof *findings);
    size_t count = 0;
    for (size_t i = 0; i < audit->site_count; i++)
        if (!audit->sites[i].missing)
            sums[count++] =
                (struct audit_sum){audit->sites[i].site, audit->sites[i].tests, audit->sites[i].tests_vouched};
    for (size_t i = 0; i < audit->finding_count; i++) {
        const struct finding *finding = &audit->findings[i];
        findings[i] =
            (struct kept_finding){text_of(finding->number), finding->site, finding->rule->id,
                                  subject_number(finding, audit->arena), text_of(finding_state_name(finding->state))};
    }
    bool ok =
        store_keep_audit(looking->store, &looking->key, findings, audit->finding_count, sums, count, looking->fault);
    memory_free(sums);
    memory_free(findings);
    return ok;
}

bool audit_look_back(struct audit *audit, const struct audit_request *request, struct fault *fault)
{
    struct looking looking = {audit, request, request->store, {audit->from, audit->to, audit->as_of}, fault};
    for (size_t s = 0; s < audit->site_count; s++) {
        const struct site_result *site = &audit->sites[s];
        struct due_days due = due_days_of(&looking, site->site);
        for (size_t i = 0; i < site->finding_count; i++)
            if (!compare_finding(&looking, &audit->findings[site->first_finding + i], &due))
                return false;
    }
    if (request->keep && !keep_audit(&looking))
        return false;
    for (size_t s = 0; s < audit->site_count; s++)
        if (!find_returned(&looking, &audit->sites[s]))
            return false;
    return find_closed_and_gone(&looking);
}
