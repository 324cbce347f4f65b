/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/view.h"

#include <stdlib.h>

typedef int (*comparison)(const void *, const void *);

/* Room for `count` pointers. */
static void *pointers(struct view *view, size_t count) { return arena_take(view->arena, (count + 1) * sizeof(void *)); }

static void sort_pointers(void *items, size_t count, comparison compare)
{
    if (count > 1)
        qsort(items, count, sizeof(void *), compare);
}

static bool is_seen(const struct view *view, struct text site)
{
    return view->only == NULL || text_equal(view->only->site, site);
}

static void sum_sites(struct view *view)
{
    for (size_t i = 0; i < view->audit->site_count; i++) {
        const struct site_result *site = &view->audit->sites[i];
        if (!is_seen(view, site->site))
            continue;
        if (site->missing) {
            view->missing++;
            continue;
        }
        view->audited++;
        view->tests += site->tests;
        view->vouched += site->tests_vouched;
        view->controls += site->controls;
    }
}

static void part_findings(struct view *view)
{
    const struct audit *audit = view->audit;
    const struct finding *findings = audit->findings;
    size_t count = audit->finding_count;
    if (view->only != NULL) {
        findings += view->only->first_finding;
        count = view->only->finding_count;
    }
    const struct finding **ranked = pointers(view, count);
    view->worst = pointers(view, count);
    view->apart = pointers(view, count);
    findings_rank(findings, count, ranked);
    for (size_t i = 0; i < count; i++) {
        if (!finding_is_open(&findings[i]))
            view->apart[view->apart_count++] = &findings[i];
        if (!finding_is_open(ranked[i]))
            continue;
        view->worst[view->open_count++] = ranked[i];
        view->open[ranked[i]->severity]++;
    }
}

static int by_group(const void *a, const void *b)
{
    const struct finding *one = *(const struct finding *const *)a, *other = *(const struct finding *const *)b;
    int order = text_compare(one->site, other->site);
    if (order == 0)
        order = (int)one->severity - (int)other->severity;
    if (order == 0)
        order = text_compare(one->rule->id, other->rule->id);
    return order != 0 ? order : (one > other) - (one < other);
}

static bool same_group(const struct finding *a, const struct finding *b)
{
    return a->severity == b->severity && text_equal(a->rule->id, b->rule->id) && text_equal(a->site, b->site);
}

static void group_findings(struct view *view)
{
    const struct finding **sorted = pointers(view, view->open_count);
    for (size_t i = 0; i < view->open_count; i++)
        sorted[i] = view->worst[i];
    sort_pointers(sorted, view->open_count, by_group);
    view->groups = arena_take(view->arena, (view->open_count + 1) * sizeof *view->groups);
    for (size_t i = 0; i < view->open_count; i++) {
        if (i == 0 || !same_group(sorted[i - 1], sorted[i]))
            view->groups[view->group_count++] = (struct finding_group){.findings = &sorted[i]};
        view->groups[view->group_count - 1].count++;
    }
}

/* Why it was silent, or what a policy set. */
static struct text remark_of(const struct rule_at_site *at) { return at->state == RULE_JUDGED ? at->set : at->why; }

static int by_remark(const void *a, const void *b)
{
    const struct rule_at_site *one = *(const struct rule_at_site *const *)a;
    const struct rule_at_site *other = *(const struct rule_at_site *const *)b;
    int order = (int)one->state - (int)other->state;
    if (order == 0)
        order = text_compare(one->rule->id, other->rule->id);
    if (order == 0)
        order = text_compare(remark_of(one), remark_of(other));
    return order != 0 ? order : (one > other) - (one < other);
}

static bool same_remark(const struct rule_at_site *a, const struct rule_at_site *b)
{
    return a->state == b->state && text_equal(a->rule->id, b->rule->id) && text_equal(remark_of(a), remark_of(b));
}

/* Those at the seen sites that are silent, or that were judged and had something set; returns how many remarks. */
static size_t group_remarks(struct view *view, bool silent, struct rule_remark **out)
{
    const struct audit *audit = view->audit;
    const struct rule_at_site **at = pointers(view, audit->rule_count);
    size_t count = 0, remarks = 0;
    for (size_t i = 0; i < audit->rule_count; i++) {
        const struct rule_at_site *rule = &audit->rules[i];
        if (is_seen(view, rule->site) && (rule->state != RULE_JUDGED) == silent && (silent || rule->set.size > 0))
            at[count++] = rule;
    }
    sort_pointers(at, count, by_remark);
    *out = arena_take(view->arena, (count + 1) * sizeof **out);
    for (size_t i = 0; i < count; i++) {
        if (i == 0 || !same_remark(at[i - 1], at[i]))
            (*out)[remarks++] =
                (struct rule_remark){.rule = at[i]->rule, .state = at[i]->state, .why = remark_of(at[i]), .at = &at[i]};
        (*out)[remarks - 1].count++;
    }
    return remarks;
}

static void take_remarks(struct view *view)
{
    const struct audit *audit = view->audit;
    view->silence_count = group_remarks(view, true, &view->silences);
    view->set_count = group_remarks(view, false, &view->set);
    for (size_t i = 0; i < view->silence_count; i++) {
        view->off += view->silences[i].state == RULE_OFF;
        view->not_judged += view->silences[i].state == RULE_NOT_JUDGED;
    }
    for (size_t i = 0; i < audit->rule_count; i++)
        view->broke += is_seen(view, audit->rules[i].site) && audit->rules[i].broke;
}

static int by_rule(const void *a, const void *b)
{
    const struct rule_at_site *one = *(const struct rule_at_site *const *)a;
    const struct rule_at_site *other = *(const struct rule_at_site *const *)b;
    int order = text_compare(one->rule->id, other->rule->id);
    return order != 0 ? order : (one > other) - (one < other);
}

static void sum_rules(struct view *view)
{
    const struct audit *audit = view->audit;
    const struct rule_at_site **judged = pointers(view, audit->rule_count);
    size_t count = 0;
    for (size_t i = 0; i < audit->rule_count; i++)
        if (audit->rules[i].state == RULE_JUDGED && is_seen(view, audit->rules[i].site))
            judged[count++] = &audit->rules[i];
    sort_pointers(judged, count, by_rule);
    view->sums = arena_take(view->arena, (count + 1) * sizeof *view->sums);
    for (size_t i = 0; i < count; i++) {
        if (i == 0 || !text_equal(judged[i - 1]->rule->id, judged[i]->rule->id))
            view->sums[view->sum_count++] = (struct rule_sum){.rule = judged[i]->rule};
        struct rule_sum *sum = &view->sums[view->sum_count - 1];
        sum->sites++;
        sum->judged += judged[i]->judged;
        sum->met += judged[i]->met;
        sum->findings += judged[i]->findings;
    }
}

struct view *view_new(const struct audit *audit, const struct site_result *only)
{
    struct view *view = memory_new(sizeof *view);
    view->arena = arena_new();
    view->audit = audit;
    view->only = only;
    sum_sites(view);
    part_findings(view);
    group_findings(view);
    take_remarks(view);
    sum_rules(view);
    return view;
}

void view_free(struct view *view)
{
    if (view == NULL)
        return;
    arena_free(view->arena);
    memory_free(view);
}

const struct site_result *view_site(const struct view *view, struct text site)
{
    for (size_t i = 0; i < view->audit->site_count; i++)
        if (text_equal(view->audit->sites[i].site, site))
            return &view->audit->sites[i];
    return NULL;
}

static bool same_place(const struct finding *a, const struct finding *b)
{
    return text_equal(a->rule->id, b->rule->id) && text_equal(a->site, b->site);
}

size_t view_first(const struct view *view, const struct finding **out, size_t most)
{
    size_t count = 0;
    for (size_t i = 0; i < view->open_count && count < most; i++) {
        bool known = false;
        for (size_t j = 0; j < count && !known; j++)
            known = same_place(out[j], view->worst[i]);
        if (!known)
            out[count++] = view->worst[i];
    }
    return count;
}

bool rule_is_serious(const struct rule_text *rule) { return rule->by || rule->severity <= SEVERITY_BREACH; }
