/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "audits.h"

#include <string.h>

#define SOME_HASH "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"

static struct text basis_insert[] = {{"42 CFR 493.15(e)(1)", 19}};

static const struct rule_text code_match = {.id = TEXT("lots.code-match"),
                                            .sha256 = SOME_HASH,
                                            .title = TEXT("The code in the analyzer is the lot's"),
                                            .remedy = TEXT("Insert the chip of the lot. Review the results listed."),
                                            .basis = basis_insert,
                                            .basis_count = 1,
                                            .severity = SEVERITY_AT_RISK,
                                            .duty = DUTY_INSERT};
static const struct rule_text overdue = {.id = TEXT("actions.overdue"),
                                         .sha256 = SOME_HASH,
                                         .title = TEXT("Actions are closed in time"),
                                         .remedy = TEXT("Close the action or give it a new day."),
                                         .severity = SEVERITY_PRACTICE,
                                         .duty = DUTY_PRACTICE};
static const struct rule_text range = {.id = TEXT("environment.range"),
                                       .sha256 = SOME_HASH,
                                       .title = TEXT("Rooms and stores are within range"),
                                       .severity = SEVERITY_AT_RISK,
                                       .duty = DUTY_INSERT};
static const struct rule_text schedule = {.id = TEXT("comparison.schedule"),
                                          .sha256 = SOME_HASH,
                                          .title = TEXT("Results are compared twice a year"),
                                          .severity = SEVERITY_PRACTICE,
                                          .duty = DUTY_ACCREDITOR};
static const struct rule_text known = {.id = TEXT("people.known"),
                                       .sha256 = SOME_HASH,
                                       .title = TEXT("Operators are on the log"),
                                       .severity = SEVERITY_PRACTICE,
                                       .duty = DUTY_PRACTICE};

static const struct affected_test tests[] = {
    {TEXT("T-0104"),
     TEXT("OP-1"),
     TEXT("A1"),
     TEXT("hba1c-strip"),
     TEXT("S-1"),
     TEXT("<4.2"),
     TEXT("2026-10-07 09:12"),
     {TEXT("records/tests.csv"), 105}},
    {TEXT("T-0105"),
     TEXT("OP-2"),
     TEXT("A1"),
     TEXT("hba1c-strip"),
     TEXT("S-2"),
     TEXT("6.1"),
     TEXT("2026-10-07 16:40"),
     {TEXT("records/tests.csv"), 106}},
};
static const struct affected_test *both_tests[] = {&tests[0], &tests[1]};

static struct record_place places[] = {{TEXT("records/tests.csv"), 105},
                                       {TEXT("records/tests.csv"), 106},
                                       {TEXT("records/tests.csv"), 107},
                                       {TEXT("records/tests.csv"), 110},
                                       {TEXT("records/lots.csv"), 4}};

static const struct finding small_findings[] = {
    {.number = "F-0000000001",
     .rule = &overdue,
     .severity = SEVERITY_PRACTICE,
     .duty = DUTY_PRACTICE,
     .state = FINDING_KNOWN,
     .site = TEXT("quarry-lane"),
     .subject[SUBJECT_RECORD] = TEXT("CA-7"),
     .events = 1,
     .says = TEXT("=action CA-7 of <b>Ada & Bo</b> is \"overdue\""),
     .evidence = &places[4],
     .evidence_count = 1},
    {.number = "F-GZPWR9QWFD",
     .rule = &code_match,
     .severity = SEVERITY_AT_RISK,
     .duty = DUTY_INSERT,
     .state = FINDING_NEW,
     .site = TEXT("quarry-lane"),
     .subject[SUBJECT_ANALYZER] = TEXT("A1"),
     .from = TEXT("2026-10-07 09:12"),
     .to = TEXT("2026-10-07 16:40"),
     .events = 14,
     .tests = both_tests,
     .test_count = 2,
     .says = TEXT("14 results on A1 were run with code 27; lot K118 has code 31"),
     .evidence = places,
     .evidence_count = 5},
    {.number = "F-0000000002",
     .rule = &code_match,
     .severity = SEVERITY_AT_RISK,
     .duty = DUTY_INSERT,
     .state = FINDING_EXCUSED,
     .excuse = TEXT("answered on paper"),
     .site = TEXT("quarry-lane"),
     .subject[SUBJECT_ANALYZER] = TEXT("A2"),
     .from = TEXT("2026-10-08"),
     .to = TEXT("2026-10-09"),
     .events = 2,
     .tests = both_tests,
     .test_count = 1,
     .says = TEXT("2 results on A2")},
};

static const struct rule_at_site small_rules[] = {
    {.rule = &overdue, .site = TEXT("quarry-lane"), .judged = 3, .met = 2, .findings = 1},
    {.rule = &schedule, .site = TEXT("quarry-lane"), .state = RULE_OFF, .why = TEXT("first year, joins in January")},
    {.rule = &range, .site = TEXT("quarry-lane"), .state = RULE_NOT_JUDGED, .why = TEXT("no temperatures log")},
    {.rule = &code_match, .site = TEXT("quarry-lane"), .judged = 412, .met = 396, .findings = 2},
    {.rule = &known, .site = TEXT("quarry-lane"), .judged = 478, .met = 478},
};

static const struct site_result small_site = {.site = TEXT("quarry-lane"),
                                              .name = TEXT("Quarry Lane Family Practice"),
                                              .tests = 412,
                                              .controls = 66,
                                              .tests_vouched = 371,
                                              .finding_count = 3};

static day_number day(int year, int month, int of_month)
{
    day_number out = DAY_ABSENT;
    day_from_civil((struct civil){year, month, of_month}, &out);
    return out;
}

static struct audit *october(size_t sites, size_t rules, size_t findings)
{
    struct audit *audit = audit_new();
    audit->from = day(2026, 10, 1);
    audit->to = audit->as_of = day(2026, 10, 31);
    audit->sites = arena_take(audit->arena, sites * sizeof *audit->sites);
    audit->rules = arena_take(audit->arena, rules * sizeof *audit->rules);
    audit->findings = arena_take(audit->arena, (findings + 1) * sizeof *audit->findings);
    memcpy(audit->chain_head, SOME_HASH, sizeof SOME_HASH);
    audit->chain_heads = arena_take(audit->arena, sizeof *audit->chain_heads);
    audit->chain_heads[0] = TEXT(SOME_HASH);
    audit->chain_head_count = 1;
    audit->site_count = sites;
    audit->rule_count = rules;
    audit->finding_count = findings;
    return audit;
}

struct audit *audit_small(void)
{
    enum {
        RULES = sizeof small_rules / sizeof *small_rules,
        FINDINGS = sizeof small_findings / sizeof *small_findings
    };
    struct audit *audit = october(1, RULES, FINDINGS);
    audit->sites[0] = small_site;
    for (size_t i = 0; i < RULES; i++)
        audit->rules[i] = small_rules[i];
    for (size_t i = 0; i < FINDINGS; i++)
        audit->findings[i] = small_findings[i];
    return audit;
}

struct audit *audit_clean(void)
{
    struct audit *audit = october(1, 1, 0);
    audit->sites[0] = small_site;
    audit->sites[0].tests_vouched = small_site.tests;
    audit->sites[0].finding_count = 0;
    audit->rules[0] = small_rules[4];
    return audit;
}

enum { RULES = 40 };

static struct rule_text *large_rules(struct arena *arena)
{
    struct rule_text *rules = arena_take(arena, RULES * sizeof *rules);
    for (size_t i = 0; i < RULES; i++) {
        rules[i] = code_match;
        rules[i].id = text_print(arena, "theme.rule-%02zu", i);
        rules[i].title = text_print(arena, "What rule number %zu asks of a site is done on every testing day", i);
        rules[i].severity = (enum severity)(i % SEVERITY_COUNT);
        rules[i].duty = (enum duty)(i % DUTY_COUNT);
    }
    return rules;
}

static void large_finding(struct audit *audit, size_t number, const struct rule_text *rules, size_t test_count)
{
    struct arena *arena = audit->arena;
    struct finding *finding = &audit->findings[number];
    size_t in_site = audit->finding_count / audit->site_count + 1, site = number / in_site;
    const struct rule_text *rule = &rules[number % in_site * RULES / in_site];
    struct affected_test *affected = arena_take(arena, (test_count + 1) * sizeof *affected);
    const struct affected_test **list = arena_take(arena, (test_count + 1) * sizeof *list);
    struct record_place *evidence = arena_take(arena, (test_count + 1) * sizeof *evidence);
    for (size_t i = 0; i < test_count; i++) {
        affected[i] = tests[i % 2];
        affected[i].test = text_print(arena, "T-%06zu", number * test_count + i);
        affected[i].place.line = (uint32_t)(number * test_count + i + 2);
        evidence[i] = affected[i].place;
        list[i] = &affected[i];
    }
    *finding = small_findings[1];
    finding->rule = rule;
    finding->severity = rule->severity;
    finding->duty = rule->duty;
    finding->site = audit->sites[site].site;
    finding->subject[SUBJECT_ANALYZER] = text_print(arena, "A%05zu", number);
    finding->tests = list;
    finding->evidence = evidence;
    finding->test_count = finding->evidence_count = test_count;
    finding_number(finding, (struct text){NULL, 0}, finding->number);
}

struct audit *audit_large(size_t sites, size_t findings, size_t test_count)
{
    struct audit *audit = october(sites, sites * RULES, findings);
    const struct rule_text *rules = large_rules(audit->arena);
    audit->program_name = TEXT("Harrow Valley Clinics");
    for (size_t i = 0; i < sites; i++) {
        audit->sites[i] = small_site;
        audit->sites[i].site = text_print(audit->arena, "site-%03zu", i);
        audit->sites[i].name = text_print(audit->arena, "Clinic number %zu", i);
        for (size_t rule = 0; rule < RULES; rule++) {
            audit->rules[i * RULES + rule] = small_rules[rule % 5];
            audit->rules[i * RULES + rule].rule = &rules[rule];
            audit->rules[i * RULES + rule].site = audit->sites[i].site;
        }
    }
    for (size_t i = 0; i < findings; i++)
        large_finding(audit, i, rules, test_count);
    return audit;
}
