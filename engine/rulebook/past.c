/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What an audit has to do with those before it, store by store: which findings are known, by when each is to be closed,
 * which came back after they were answered; and its own findings are kept for those to come. Only audits of an earlier
 * as-of count, so an audit made again says the same. */
#include <stdlib.h>
#include <string.h>

#include "findings/answers.h"
#include "findings/portrait.h"
#include "rulebook/parts.h"

struct looking { /* back, from an audit */
    struct audit *audit;
    const struct audit_request *request;
    const struct audit_site **asked; /* the request's site of each of the audit's */
    struct store *store;             /* in hand */
    size_t number;                   /* of it */
    struct audit_key key;
    struct fault *fault;
};

/* Is the audit's site in the store in hand? */
static bool is_here(const struct looking *looking, size_t site)
{
    return looking->asked[site]->store == looking->number;
}

/* ---- by when ---- */

struct due_days { /* after the as-of of the first audit that found it */
    bool known[SEVERITY_COUNT];
    day_number days[SEVERITY_COUNT];
};

/* The parameters of actions.overdue, where policy sets them. */
static struct due_days due_days_of(const struct looking *looking, const struct site_settings *settings)
{
    static const char *const names[SEVERITY_COUNT] = {"at_risk_days", "breach_days", "practice_days", "notice_days"};
    const struct rule *rule = rulebook_find(looking->request->book, TEXT("actions.overdue"));
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
    if (!finding_is_open(finding))
        return;
    if (answer && answer_settles(answer) && answer->closed_on > first_as_of)
        first_as_of = answer->closed_on; /* it came back */
    if (answer && answer->closed_on == DAY_ABSENT && answer->due_on != DAY_ABSENT)
        finding->due_on = answer->due_on;
    else if (due->known[finding->severity] && first_as_of + due->days[finding->severity] <= DAY_LAST)
        finding->due_on = first_as_of + due->days[finding->severity];
}

/* An excuse has no day: what it was written for can only be what an audit had excused. */
static bool fill_excused_first(const struct looking *looking, struct finding *finding)
{
    day_number last = finding_last_day(finding);
    if (!store_first_excused(looking->store, finding->number, looking->key.as_of, &finding->excused_first,
                             looking->fault))
        return false;
    finding->went_on = finding->excused_first != DAY_ABSENT && last != DAY_ABSENT && last > finding->excused_first;
    return true;
}

static bool compare_finding(const struct looking *looking, struct finding *finding, const struct due_days *due)
{
    struct finding_past past;
    if (!store_finding_past(looking->store, finding->number, looking->key.as_of, &past, looking->fault))
        return false;
    if (past.found && finding->state == FINDING_NEW)
        finding->state = FINDING_KNOWN;
    fill_due(finding, due, past.found ? past.first_as_of : looking->key.as_of);
    return finding->state != FINDING_EXCUSED || fill_excused_first(looking, finding);
}

/* ---- what came back ---- */

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

/* The last day on which it was found: a state is found on the last day that was looked at. */
static day_number last_day(const struct audit *audit, const struct finding *finding)
{
    day_number day = finding_last_day(finding);
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
    day_number from = finding_day(finding->from), latest = DAY_ABSENT;
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
        const struct finding_answer *answer = answer_of(site, text_of(finding->number), DAY_ABSENT);
        bool began_before = finding->from.data == NULL || (answer && finding_day(finding->from) <= answer->closed_on);
        if (finding->state != FINDING_EXCUSED && answer && answer_settles(answer) && began_before &&
            last_day(audit, finding) > answer->closed_on)
            memcpy(finding->returned, finding->number, sizeof finding->returned);
        if (finding_is_open(finding) && finding->from.data != NULL && count > 0)
            find_earlier(finding, subject_number(finding, audit->arena), settled, count);
    }
    memory_free(settled);
    return ok;
}

/* ---- the share of the months ---- */

/* This audit counts in its own month whether it is kept or not. */
static bool fill_months(const struct looking *looking, const struct site_result *site)
{
    if (!site->portrait)
        return true;
    struct audit_month *months = site->portrait->months, *last = &months[PORTRAIT_MONTHS - 1];
    if (!store_trend(looking->store, site->site, months, PORTRAIT_MONTHS, looking->fault))
        return false;
    if (looking->key.from == last->from && looking->key.to == day_add_months(last->from, 1) - 1)
        *last = (struct audit_month){last->from, true, site->tests, site->tests_vouched};
    return true;
}

/* ---- keeping ---- */

/* Of the store in hand its own sites. */
static bool keep_audit(const struct looking *looking, const struct since *since)
{
    const struct audit *audit = looking->audit;
    size_t sum_count = 0, count;
    const struct kept_finding *replaced = since_replaced(since, &count);
    struct audit_sum *sums = memory_new((audit->site_count + 1) * sizeof *sums);
    struct kept_finding *findings = memory_new((audit->finding_count + count + 1) * sizeof *findings);
    if (count > 0)
        memcpy(findings, replaced, count * sizeof *findings);
    for (size_t s = 0; s < audit->site_count; s++) {
        const struct site_result *site = &audit->sites[s];
        if (site->missing || !is_here(looking, s))
            continue;
        sums[sum_count++] = (struct audit_sum){site->site, site->tests, site->tests_vouched};
        for (size_t i = 0; i < site->finding_count; i++) {
            const struct finding *finding = &audit->findings[site->first_finding + i];
            findings[count++] = (struct kept_finding){text_of(finding->number),
                                                      finding->site,
                                                      finding->rule->id,
                                                      subject_number(finding, audit->arena),
                                                      text_of(finding_state_name(finding->state)),
                                                      finding->first_day,
                                                      finding->last_day};
        }
    }
    bool ok = store_keep_audit(looking->store, &looking->key, findings, count, sums, sum_count, looking->fault);
    memory_free(sums);
    memory_free(findings);
    return ok;
}

/* ---- store by store ---- */

struct store_past *stores_past(const struct audit_request *request, struct fault *fault)
{
    const struct audit_key key = {request->from, request->to, request->as_of};
    struct store_past *pasts = memory_new((request->stores->count + 1) * sizeof *pasts);
    AUTO(store_reader) reader = store_reader_new(request->stores, STORE_READ, false);
    for (size_t i = 0; i < request->stores->count; i++) {
        struct store_past *past = &pasts[i];
        bool any, of_period;
        struct store *store = store_reader_turn(reader, i, fault);
        if (!store || !store_audit_before(store, &key, false, &past->before, &any, fault) ||
            !store_audit_before(store, &key, true, &past->before_of_period, &of_period, fault)) {
            memory_free(pasts);
            return NULL;
        }
        store_head(store, past->head);
        if (!any)
            past->before.as_of = DAY_ABSENT;
        if (!of_period)
            past->before_of_period.as_of = DAY_ABSENT;
    }
    return pasts;
}

static bool is_as_judged(const struct looking *looking, const struct store_past *past)
{
    char head[DIGEST_HEX_SIZE];
    store_head(looking->store, head);
    return strcmp(head, past->head) == 0 ||
           fault_set(looking->fault, FAULT_STORE, "%s: was loaded anew while it was judged; judge it again",
                     store_path(looking->store));
}

static bool compare_sites(const struct looking *looking)
{
    struct audit *audit = looking->audit;
    for (size_t s = 0; s < audit->site_count; s++) {
        if (!is_here(looking, s))
            continue;
        const struct site_result *site = &audit->sites[s];
        struct due_days due = due_days_of(looking, looking->asked[s]->settings);
        for (size_t i = 0; i < site->finding_count; i++)
            if (!compare_finding(looking, &audit->findings[site->first_finding + i], &due))
                return false;
    }
    return true;
}

static bool look_back_here(const struct looking *looking, const struct since *since)
{
    const struct audit *audit = looking->audit;
    if (!compare_sites(looking) || (looking->request->keep && !keep_audit(looking, since)))
        return false;
    for (size_t s = 0; s < audit->site_count; s++)
        if (is_here(looking, s) &&
            (!find_returned(looking, &audit->sites[s]) || !fill_months(looking, &audit->sites[s])))
            return false;
    return true;
}

static bool look_at_stores(struct looking *looking, const struct store_past *pasts, struct since *since)
{
    const struct audit_request *request = looking->request;
    AUTO(store_reader)
    reader = store_reader_new(request->stores, request->keep ? STORE_WRITE : STORE_READ, false);
    for (looking->number = 0; looking->number < request->stores->count; looking->number++) {
        looking->store = store_reader_turn(reader, looking->number, looking->fault);
        if (!looking->store || !is_as_judged(looking, &pasts[looking->number]) ||
            !since_look(since, looking->store, looking->fault) || !look_back_here(looking, since))
            return false;
    }
    return true;
}

/* Both are in the order of their names; the audit may have fewer. */
static const struct audit_site **find_asked(const struct audit *audit, const struct audit_request *request)
{
    const struct audit_site **asked = memory_new((audit->site_count + 1) * sizeof *asked);
    for (size_t s = 0, i = 0; s < audit->site_count && i < request->site_count; i++)
        if (text_equal(audit->sites[s].site, request->sites[i].site))
            asked[s++] = &request->sites[i];
    return asked;
}

bool audit_look_back(struct audit *audit, const struct audit_request *request, const struct store_past *pasts,
                     struct fault *fault)
{
    struct looking looking = {.audit = audit,
                              .request = request,
                              .asked = find_asked(audit, request),
                              .key = {audit->from, audit->to, audit->as_of},
                              .fault = fault};
    AUTO(since) since = since_new(audit, request->stores, pasts);
    bool ok = look_at_stores(&looking, pasts, since);
    memory_free(looking.asked);
    if (ok)
        since_end(since);
    return ok;
}
