/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was closed, and what is gone, since the audits before. */
#include <stdlib.h>
#include <string.h>

#include "findings/answers.h"
#include "rulebook/parts.h"

struct gathering {
    struct audit *audit;
    const struct finding *const *findings; /* of the audit, by number */
    struct audit_key before;               /* as_of DAY_ABSENT: there is none */
    struct earlier_finding *found;
    size_t count, capacity;
};

struct since {
    struct audit *audit;
    const struct finding **findings;
    struct gathering closed, gone, lost;
    size_t gone_before;            /* in stores that were in hand before */
    struct kept_finding *replaced; /* of the store in hand: the lost ones, to be kept with what the audit has found */
    size_t replaced_count, replaced_capacity;
};

/* ---- one finding of an audit before ---- */

static void gather(struct gathering *gathering, const struct kept_finding *kept)
{
    struct arena *arena = gathering->audit->arena;
    VECTOR_GROW(gathering->found, gathering->count, gathering->capacity);
    struct earlier_finding *earlier = &gathering->found[gathering->count++];
    *earlier = (struct earlier_finding){.site = text_keep(arena, kept->site), .rule = text_keep(arena, kept->rule)};
    if (kept->number.size < sizeof earlier->number)
        memcpy(earlier->number, kept->number.data, kept->number.size);
}

static int by_site(const void *a, const void *b)
{
    return text_compare(((const struct site_result *)a)->site, ((const struct site_result *)b)->site);
}

static const struct site_result *site_of(const struct audit *audit, struct text site)
{
    struct site_result wanted = {.site = site};
    if (audit->site_count == 0)
        return NULL;
    const struct site_result *found = bsearch(&wanted, audit->sites, audit->site_count, sizeof wanted, by_site);
    return found && !found->missing ? found : NULL;
}

static int by_number(const void *a, const void *b)
{
    const struct finding *x = *(const struct finding *const *)a, *y = *(const struct finding *const *)b;
    return strcmp(x->number, y->number);
}

/* NULL: the audit has not found it. */
static const struct finding *found_again(const struct gathering *gathering, const struct kept_finding *kept)
{
    struct finding wanted = {.number = ""};
    const struct finding *key = &wanted;
    if (kept->number.size >= sizeof wanted.number)
        return NULL;
    memcpy(wanted.number, kept->number.data, kept->number.size);
    const struct finding *const *found =
        bsearch(&key, gathering->findings, gathering->audit->finding_count, sizeof key, by_number);
    return found ? *found : NULL;
}

static void take_closed(void *context, const struct kept_finding *kept)
{
    struct gathering *gathering = context;
    const struct site_result *site = site_of(gathering->audit, kept->site);
    bool was_open = text_is(kept->state, finding_state_name(FINDING_NEW)) ||
                    text_is(kept->state, finding_state_name(FINDING_KNOWN));
    const struct finding *now = found_again(gathering, kept);
    const struct finding_answer *answer = site && was_open ? answer_of(site, kept->number, DAY_ABSENT) : NULL;
    if (answer && answer_settles(answer) && !(now && finding_is_open(now)))
        gather(gathering, kept);
}

struct rule_and_site {
    struct text rule, site;
};

static int of_rule_and_site(const void *key, const void *item)
{
    const struct rule_and_site *wanted = key;
    const struct rule_at_site *rule = item;
    int order = text_compare(wanted->site, rule->site);
    return order ? order : text_compare(wanted->rule, rule->rule->id);
}

/* A rule that is not judged any more has not found that all is well. */
static bool is_judged(const struct audit *audit, struct text rule, struct text site)
{
    struct rule_and_site wanted = {rule, site};
    if (audit->rule_count == 0)
        return false;
    const struct rule_at_site *found =
        bsearch(&wanted, audit->rules, audit->rule_count, sizeof *audit->rules, of_rule_and_site);
    return found && found->state == RULE_JUDGED && !found->broke;
}

static void take_gone(void *context, const struct kept_finding *kept)
{
    struct gathering *gathering = context;
    if (!found_again(gathering, kept) && is_judged(gathering->audit, kept->rule, kept->site))
        gather(gathering, kept);
}

/* Each time the audit is made again it tells the same: what it has lost is kept with what it has found. What it tells
 * is kept without its days, so that audits of other days do not tell it again. */
static void take_replaced(void *context, const struct kept_finding *kept)
{
    struct since *since = context;
    struct arena *arena = since->audit->arena;
    if (found_again(&since->lost, kept))
        return;
    take_gone(&since->lost, kept);
    bool told = is_judged(since->audit, kept->rule, kept->site);
    VECTOR_GROW(since->replaced, since->replaced_count, since->replaced_capacity);
    since->replaced[since->replaced_count++] = (struct kept_finding){
        text_keep(arena, kept->number),    text_keep(arena, kept->site),  text_keep(arena, kept->rule),
        text_keep(arena, kept->subject),   text_keep(arena, kept->state), told ? DAY_ABSENT : kept->first_day,
        told ? DAY_ABSENT : kept->last_day};
}

static int of_number(const void *key, const void *item)
{
    return text_compare(*(const struct text *)key, text_of(((const struct earlier_finding *)item)->number));
}

static int by_earlier_number(const void *a, const void *b)
{
    return strcmp(((const struct earlier_finding *)a)->number, ((const struct earlier_finding *)b)->number);
}

static void take_of_days(void *context, const struct kept_finding *kept)
{
    struct since *since = context;
    size_t count = since->gone.count - since->gone_before;
    bool is_told = count > 0 && bsearch(&kept->number, since->gone.found + since->gone_before, count,
                                        sizeof *since->gone.found, of_number) != NULL;
    if (!is_told && site_of(since->audit, kept->site))
        take_replaced(since, kept);
}

const struct kept_finding *since_replaced(const struct since *since, size_t *count)
{
    *count = since->replaced_count;
    return since->replaced;
}

/* ---- all of them ---------------------------------------------------------------------------------------------------
 */

static const struct audit_key *key_before(const struct store_past *past, bool of_period)
{
    return of_period ? &past->before_of_period : &past->before;
}

static bool same_key(const struct audit_key *a, const struct audit_key *b)
{
    return a->from == b->from && a->to == b->to && a->as_of == b->as_of;
}

static void warn_of_another(struct audit *audit, const char *path, day_number own, day_number latest)
{
    char here[DAY_TEXT_SIZE], elsewhere[DAY_TEXT_SIZE];
    day_print(own, here);
    day_print(latest, elsewhere);
    audit_add_warning(audit, text_print(audit->arena,
                                        "%s: its audit before this one (as of %s) is not that of the other stores (as "
                                        "of %s): what was closed or is gone since is not told of its sites",
                                        path, here, elsewhere));
}

/* Since the latest audit before of all stores; what a store has instead cannot be told together with it. */
static void begin(struct gathering *gathering, const struct stores *stores, const struct store_past *pasts,
                  bool of_period)
{
    gathering->before.as_of = DAY_ABSENT;
    for (size_t i = 0; i < stores->count; i++)
        if (key_before(&pasts[i], of_period)->as_of > gathering->before.as_of)
            gathering->before = *key_before(&pasts[i], of_period);
    for (size_t i = 0; i < stores->count; i++) {
        const struct audit_key *own = key_before(&pasts[i], of_period);
        if (own->as_of != DAY_ABSENT && !same_key(own, &gathering->before))
            warn_of_another(gathering->audit, stores_path(stores, i), own->as_of, gathering->before.as_of);
    }
}

struct since *since_new(struct audit *audit, const struct stores *stores, const struct store_past *pasts)
{
    struct since *since = memory_new(sizeof *since);
    since->audit = audit;
    since->findings = memory_new((audit->finding_count + 1) * sizeof(void *));
    for (size_t i = 0; i < audit->finding_count; i++)
        since->findings[i] = &audit->findings[i];
    qsort(since->findings, audit->finding_count, sizeof(void *), by_number);
    since->closed.audit = since->gone.audit = since->lost.audit = audit;
    since->closed.findings = since->gone.findings = since->lost.findings = since->findings;
    since->lost.before = (struct audit_key){audit->from, audit->to, audit->as_of};
    begin(&since->closed, stores, pasts, false);
    begin(&since->gone, stores, pasts, true);
    return since;
}

static bool look(struct gathering *gathering, struct store *store, kept_finding_function *take, struct fault *fault)
{
    return gathering->before.as_of == DAY_ABSENT ||
           store_audit_findings(store, &gathering->before, take, gathering, fault);
}

bool since_look(struct since *since, struct store *store, struct fault *fault)
{
    const struct audit *audit = since->audit;
    since->replaced_count = 0;
    since->gone_before = since->gone.count;
    if (!look(&since->closed, store, take_closed, fault) || !look(&since->gone, store, take_gone, fault))
        return false;
    if (since->gone.count > since->gone_before)
        qsort(since->gone.found + since->gone_before, since->gone.count - since->gone_before, sizeof *since->gone.found,
              by_earlier_number);
    return store_audit_findings(store, &since->lost.before, take_replaced, since, fault) &&
           store_findings_of_days(store, audit->from, audit->to < audit->as_of ? audit->to : audit->as_of, take_of_days,
                                  since, fault);
}

static int by_site_rule_number(const void *a, const void *b)
{
    const struct earlier_finding *x = a, *y = b;
    int order = text_compare(x->site, y->site);
    if (!order)
        order = text_compare(x->rule, y->rule);
    return order ? order : strcmp(x->number, y->number);
}

/* Each once, in order. */
static struct earlier_finding *hand_out(struct gathering *gathering, size_t *count)
{
    struct earlier_finding *found = arena_take(gathering->audit->arena, (gathering->count + 1) * sizeof *found);
    *count = 0;
    if (gathering->count > 0)
        qsort(gathering->found, gathering->count, sizeof *found, by_site_rule_number);
    for (size_t i = 0; i < gathering->count; i++)
        if (i == 0 || by_site_rule_number(&gathering->found[i], &gathering->found[i - 1]) != 0)
            found[(*count)++] = gathering->found[i];
    return found;
}

void since_end(struct since *since)
{
    struct audit *audit = since->audit;
    audit->closed_since = since->closed.before.as_of;
    audit->gone_since = since->gone.before.as_of;
    audit->closed = hand_out(&since->closed, &audit->closed_count);
    audit->gone = hand_out(&since->gone, &audit->gone_count);
    audit->lost = hand_out(&since->lost, &audit->lost_count);
}

void since_free(struct since *since)
{
    if (!since)
        return;
    memory_free(since->closed.found);
    memory_free(since->gone.found);
    memory_free(since->lost.found);
    memory_free(since->replaced);
    memory_free(since->findings);
    memory_free(since);
}
