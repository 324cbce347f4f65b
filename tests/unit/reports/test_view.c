/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>

#include "audits.h"
#include "reports/view.h"

Test(view, answered_and_excused_findings_are_set_apart_and_the_others_ranked)
{
    AUTO(audit) audit = audit_small();
    AUTO(view) view = view_new(audit, NULL);
    cr_assert_eq(view->open_count, 2);
    cr_expect_eq(view->worst[0], &audit->findings[1]);
    cr_expect_eq(view->worst[1], &audit->findings[0]);
    cr_expect(view->open[SEVERITY_AT_RISK] == 1 && view->open[SEVERITY_PRACTICE] == 1);
    cr_assert_eq(view->apart_count, 1);
    cr_expect_eq(view->apart[0], &audit->findings[2]);

    audit->findings[0].state = FINDING_ANSWERED;
    AUTO(view) again = view_new(audit, NULL);
    cr_expect(again->open_count == 1 && again->apart_count == 2);
}

Test(view, groups_go_by_site_then_severity_then_rule_and_hold_every_open_finding)
{
    AUTO(audit) audit = audit_large(3, 200, 1);
    AUTO(view) view = view_new(audit, NULL);
    size_t held = 0;
    for (size_t i = 0; i < view->group_count; i++) {
        const struct finding_group *group = &view->groups[i];
        held += group->count;
        for (size_t j = 1; j < group->count; j++) {
            cr_expect_eq(group->findings[j]->rule, group->findings[0]->rule);
            cr_expect_lt(group->findings[j - 1], group->findings[j], "the audit's order");
        }
        if (i == 0)
            continue;
        const struct finding *before = group[-1].findings[0], *here = group->findings[0];
        int site = text_compare(before->site, here->site);
        cr_expect_leq(site, 0);
        cr_expect(site < 0 || before->severity <= here->severity);
        cr_expect(site < 0 || before->severity < here->severity || text_compare(before->rule->id, here->rule->id) < 0);
    }
    cr_expect_eq(held, 200);
}

Test(view, one_finding_a_rule_and_site_is_enough_to_start_with)
{
    AUTO(audit) audit = audit_large(2, 400, 1); /* 40 rules a site, five findings each */
    AUTO(view) view = view_new(audit, NULL);
    const struct finding *first[200];
    size_t count = view_first(view, first, 200);
    cr_assert_eq(count, 80);
    for (size_t i = 1; i < count; i++) {
        cr_expect_geq(first[i]->severity, first[i - 1]->severity);
        for (size_t j = 0; j < i; j++)
            cr_expect(first[i]->rule != first[j]->rule || !text_equal(first[i]->site, first[j]->site));
    }
    cr_expect_eq(view_first(view, first, 5), 5);
    cr_expect_eq(first[0], view->worst[0]);
}

Test(view, silent_rules_are_joined_by_reason_over_the_sites)
{
    AUTO(audit) audit = audit_large(3, 0, 0);
    audit->rules[2].why = TEXT("no temperatures log at all"); /* the third rule, at the first site */
    AUTO(view) view = view_new(audit, NULL);
    cr_expect_eq(view->not_judged, 9, "eight rules, one of them for two reasons");
    cr_expect_eq(view->off, 8);
    cr_expect_eq(view->silence_count, 17);
    cr_expect(text_is(view->silences[0].why, "no temperatures log"));
    cr_expect_eq(view->silences[0].count, 2);
    cr_expect(text_is(view->silences[1].why, "no temperatures log at all"));
    cr_expect_eq(view->silences[1].count, 1);
    cr_expect_eq(view->silences[16].state, RULE_OFF);
    cr_expect_eq(view->silences[16].count, 3);
}

Test(view, judged_rules_and_sites_are_summed_without_missing_sites)
{
    AUTO(audit) audit = audit_large(3, 0, 0);
    audit->sites[1].missing = true;
    AUTO(view) view = view_new(audit, NULL);
    cr_expect(view->audited == 2 && view->missing == 1);
    cr_expect(view->tests == 824 && view->vouched == 742 && view->controls == 132);
    cr_assert_eq(view->sum_count, 24);
    cr_expect(text_is(view->sums[0].rule->id, "theme.rule-00"));
    cr_expect(view->sums[0].sites == 3 && view->sums[0].judged == 9 && view->sums[0].met == 6);
    cr_expect_eq(view_site(view, TEXT("site-002")), &audit->sites[2]);
    cr_expect_null(view_site(view, TEXT("site-003")));
}
