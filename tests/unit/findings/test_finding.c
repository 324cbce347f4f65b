/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <string.h>

#include "findings/finding.h"

static const struct text absent = {NULL, 0};

static void expect_number(const struct finding *finding, struct text more, const char *expected)
{
    char number[FINDING_NUMBER_SIZE];
    finding_number(finding, more, number);
    cr_expect_str_eq(number, expected);
}

/* The first is the example that the format's description gives. The others were computed outside this program, by
 * Python's hashlib over the parts joined by 0x1F. */
Test(finding, a_number_comes_from_rule_site_subject_and_from)
{
    const struct rule_text code_match = {.id = TEXT("lots.code-match")};
    struct finding finding = {.rule = &code_match,
                              .site = TEXT("quarry-lane"),
                              .subject[SUBJECT_ANALYZER] = TEXT("A1"),
                              .from = TEXT("2026-10-07 09:12")};
    expect_number(&finding, absent, "F-GZPWR9QWFD");
    finding.severity = SEVERITY_NOTICE;
    finding.events = 14;
    finding.to = TEXT("2026-10-09 10:00");
    expect_number(&finding, absent, "F-GZPWR9QWFD");

    const struct rule_text multirule = {.id = TEXT("controls.multirule")};
    finding = (struct finding){.rule = &multirule,
                               .site = TEXT("quarry-lane"),
                               .subject[SUBJECT_METHOD] = TEXT("hba1c-strip"),
                               .subject[SUBJECT_ANALYZER] = TEXT("A1"),
                               .subject[SUBJECT_LEVEL] = TEXT("low"),
                               .subject[SUBJECT_DETAIL] = TEXT("2-2s"),
                               .from = TEXT("2026-10-08 08:01:30")};
    expect_number(&finding, absent, "F-CYK7E8V9K6");

    const struct rule_text duplicate = {.id = TEXT("records.duplicate")};
    finding = (struct finding){.rule = &duplicate,
                               .site = TEXT("quarry-lane"),
                               .subject[SUBJECT_RECORD] = TEXT("S-88"),
                               .from = TEXT("2026-10-08 08:01")};
    expect_number(&finding, TEXT("T-0105"), "F-HT7787GP7F");
}

Test(finding, whatever_identifies_a_finding_changes_its_number)
{
    const struct rule_text rule = {.id = TEXT("cleaning.daily")}, other_rule = {.id = TEXT("cleaning.periodic")};
    const struct finding base = {.rule = &rule, .site = TEXT("quarry-lane"), .from = TEXT("2026-10-07")};
    struct finding others[4 + SUBJECT_COUNT];
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        others[i] = base;
    for (enum subject_field field = 0; field < SUBJECT_COUNT; field++)
        others[field].subject[field] = TEXT("A1");
    others[SUBJECT_COUNT].rule = &other_rule;
    others[SUBJECT_COUNT + 1].site = TEXT("quarry");
    others[SUBJECT_COUNT + 2].from = TEXT("2026-10-08");
    others[SUBJECT_COUNT + 3].from = absent;

    char numbers[1 + sizeof others / sizeof *others + 1][FINDING_NUMBER_SIZE];
    size_t count = 0;
    finding_number(&base, absent, numbers[count++]);
    finding_number(&base, TEXT("T-0104"), numbers[count++]);
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        finding_number(&others[i], absent, numbers[count++]);
    for (size_t i = 0; i < count; i++) {
        cr_expect_eq(strlen(numbers[i]), FINDING_NUMBER_SIZE - 1);
        for (size_t j = 0; j < i; j++)
            cr_expect_str_neq(numbers[i], numbers[j], "%zu and %zu", i, j);
    }
}

Test(finding, a_detail_that_is_an_attribute_is_no_part_of_the_number)
{
    const struct rule_text rule = {.id = TEXT("cleaning.daily")};
    struct finding finding = {.rule = &rule, .site = TEXT("quarry-lane"), .from = TEXT("2026-10-07")};
    char without[FINDING_NUMBER_SIZE];
    finding_number(&finding, absent, without);
    finding.subject[SUBJECT_DETAIL] = TEXT("missing");
    finding.detail_is_attribute = true;
    expect_number(&finding, absent, without);
}

Test(finding, the_worst_finding_ranks_first)
{
    struct finding findings[] = {
        {.severity = SEVERITY_NOTICE, .test_count = 99},  {.severity = SEVERITY_AT_RISK, .test_count = 1},
        {.severity = SEVERITY_BREACH, .test_count = 50},  {.severity = SEVERITY_AT_RISK, .test_count = 14},
        {.severity = SEVERITY_AT_RISK, .test_count = 14}, {.severity = SEVERITY_PRACTICE, .test_count = 0},
    };
    static const size_t expected[] = {3, 4, 1, 2, 5, 0};
    enum { COUNT = sizeof findings / sizeof *findings };
    AUTO(audit) audit = audit_new();
    audit->findings = findings;
    audit->finding_count = COUNT;
    const struct finding *ranked[COUNT];
    findings_rank(audit->findings, audit->finding_count, ranked);
    for (size_t i = 0; i < COUNT; i++)
        cr_expect_eq(ranked[i], &findings[expected[i]], "place %zu", i);
}

Test(finding, severities_are_known_by_name)
{
    for (enum severity severity = 0; severity < SEVERITY_COUNT; severity++) {
        enum severity found = SEVERITY_COUNT;
        cr_expect(severity_named(text_of(severity_name(severity)), &found));
        cr_expect_eq(found, severity);
    }
    enum severity untouched = SEVERITY_NOTICE;
    cr_expect_not(severity_named(TEXT("At-risk"), &untouched));
    cr_expect_not(severity_named(absent, &untouched));
    cr_expect_eq(untouched, SEVERITY_NOTICE);
    cr_expect_str_eq(severity_name(SEVERITY_AT_RISK), "at-risk");
    cr_expect_str_eq(finding_state_name(FINDING_EXCUSED), "excused");
    cr_expect_str_eq(judged_state_name(RULE_NOT_JUDGED), "not judged");
    cr_expect_str_eq(subject_field_name(SUBJECT_DETAIL), "detail");
}
