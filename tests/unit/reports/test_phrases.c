/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>

#include "audits.h"
#include "reports/phrases.h"

static void expect_text(struct text found, const char *expected)
{
    cr_expect(text_is(found, expected), "%.*s, not %s", TEXT_FORMAT(found), expected);
}

Test(phrases, numbers_and_counts_read_as_people_write_them)
{
    AUTO(arena) arena = arena_new();
    expect_text(phrase_number(arena, 0), "0");
    expect_text(phrase_number(arena, 999), "999");
    expect_text(phrase_number(arena, 1000), "1,000");
    expect_text(phrase_number(arena, 12034005), "12,034,005");
    expect_text(phrase_count(arena, 1, "result", "results"), "1 result");
    expect_text(phrase_count(arena, 0, "result", "results"), "0 results");
    expect_text(phrase_count(arena, 1400, "result", "results"), "1,400 results");
}

Test(phrases, a_share_is_a_hundred_percent_only_if_all_count)
{
    AUTO(arena) arena = arena_new();
    expect_text(phrase_share(arena, 371, 412), "90.0 %");
    expect_text(phrase_share(arena, 99999, 100000), "99.9 %");
    expect_text(phrase_share(arena, 100000, 100000), "100.0 %");
    expect_text(phrase_share(arena, 0, 0), "–");
    expect_text(phrase_interval(arena, 0, 0), "–");
    /* Source: Newcombe RG. Stat Med 1998;17:857-72: 81 of 263 gives .2553 to .3662; ends are rounded outwards. */
    expect_text(phrase_interval(arena, 81, 263), "25.5 to 36.7 %");
    expect_text(phrase_interval(arena, 0, 20), "0.0 to 16.2 %");
}

Test(phrases, a_period_of_a_month_has_its_name)
{
    static const struct {
        struct civil from, to;
        const char *expected;
    } rows[] = {
        {{2026, 10, 1}, {2026, 10, 31}, "October 2026"},
        {{2028, 2, 1}, {2028, 2, 29}, "February 2028"},
        {{2027, 2, 1}, {2027, 2, 27}, "2027-02-01 to 2027-02-27"},
        {{2026, 12, 1}, {2026, 12, 31}, "December 2026"},
        {{2026, 1, 31}, {2026, 2, 28}, "2026-01-31 to 2026-02-28"},
        {{2099, 12, 1}, {2099, 12, 31}, "December 2099"},
        {{2026, 10, 1}, {2026, 11, 30}, "2026-10-01 to 2026-11-30"},
    };
    AUTO(arena) arena = arena_new();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        day_number from, to;
        cr_assert(day_from_civil(rows[i].from, &from) && day_from_civil(rows[i].to, &to));
        expect_text(phrase_period(arena, from, to), rows[i].expected);
    }
}

Test(phrases, when_leaves_out_a_date_said_before)
{
    static const struct {
        const char *from, *to, *expected;
    } rows[] = {
        {"2026-10-07 09:12", "2026-10-07 16:40", "2026-10-07 09:12 to 16:40"},
        {"2026-10-07 09:12", "2026-10-08 09:12", "2026-10-07 09:12 to 2026-10-08 09:12"},
        {"2026-10-07 09:12:30", "2026-10-07 09:12:30", "2026-10-07 09:12:30"},
        {"2026-10-07", "2026-10-09", "2026-10-07 to 2026-10-09"},
        {"2026-10-07", NULL, "2026-10-07"},
    };
    AUTO(arena) arena = arena_new();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct finding finding = {.from = text_of(rows[i].from), .to = text_of(rows[i].to)};
        expect_text(phrase_when(arena, &finding), rows[i].expected);
    }
    cr_expect_null(phrase_when(arena, &(struct finding){0}).data);
}

Test(phrases, a_subject_names_the_fields_that_are_there)
{
    AUTO(arena) arena = arena_new();
    struct finding finding = {.subject[SUBJECT_LOT] = TEXT("K118"), .subject[SUBJECT_ANALYZER] = TEXT("A1")};
    expect_text(phrase_subject(arena, &finding), "analyzer A1, lot K118");
    cr_expect_null(phrase_subject(arena, &(struct finding){0}).data);
}

Test(phrases, evidence_is_lines_by_file)
{
    static struct record_place places[] = {
        {TEXT("a.csv"), 5}, {TEXT("a.csv"), 6}, {TEXT("a.csv"), 9}, {TEXT("b.csv"), 10}, {TEXT("c.csv"), 4},
        {TEXT("c.csv"), 5}, {TEXT("c.csv"), 6}, {TEXT("a.csv"), 7}, {TEXT("b.csv"), 8},  {TEXT("b.csv"), 11}};
    AUTO(arena) arena = arena_new();
    struct finding finding = {.evidence = places, .evidence_count = sizeof places / sizeof *places};
    expect_text(phrase_evidence(arena, &finding),
                "a.csv, lines 5, 6, 9; b.csv, line 10; c.csv, lines 4 to 6; a.csv, line 7; b.csv, lines 8, 11");
    cr_expect_null(phrase_evidence(arena, &(struct finding){0}).data);
}

Test(phrases, the_verdict_says_how_many_results_cannot_be_vouched_for)
{
    static const struct {
        uint64_t tests, vouched;
        bool broke; /* a rule */
        const char *expected;
    } rows[] = {
        {412, 371, false, "41 of 412 patient results cannot be vouched for."},
        {412, 412, false, "All 412 patient results are vouched for."},
        {1, 1, false, "The one patient result is vouched for."},
        {1, 0, false, "1 of 1 patient result cannot be vouched for."},
        {0, 0, true, "There were no patient results in this period."},
        {412, 371, true, "At least 41 of 412 patient results cannot be vouched for; not all rules could be judged."},
        {412, 412, true, "No finding puts any of 412 patient results in doubt, but not all rules could be judged."},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        AUTO(audit) audit = audit_small();
        audit->sites[0].tests = rows[i].tests;
        audit->sites[0].tests_vouched = rows[i].vouched;
        audit->rules[0].broke = rows[i].broke;
        AUTO(view) view = view_new(audit, NULL);
        expect_text(phrase_verdict(view->arena, view), rows[i].expected);
    }
    AUTO(audit) audit = audit_small();
    audit->sites[0].missing = true;
    AUTO(view) view = view_new(audit, NULL);
    expect_text(phrase_verdict(view->arena, view), "No site could be audited.");
}

Test(phrases, findings_are_counted_by_severity_and_those_set_apart_are_said)
{
    AUTO(audit) small = audit_small();
    AUTO(view) view = view_new(small, NULL);
    expect_text(phrase_findings(view->arena, view), "2 findings: 1 at-risk, 1 practice; 1 answered or excused.");
    AUTO(audit) clean = audit_clean();
    AUTO(view) none = view_new(clean, NULL);
    expect_text(phrase_findings(none->arena, none), "No open findings.");
}

Test(phrases, an_excuse_says_what_came_after_it)
{
    static const struct affected_test before = {.performed_at = TEXT("2026-10-31 09:00")};
    static const struct affected_test after = {.performed_at = TEXT("2026-11-01 00:10")}, gone = {.test = TEXT("T9")};
    const struct affected_test *tests[] = {&before, &after, &gone};
    struct finding finding = {.excuse = TEXT("agreed"), .tests = tests, .test_count = 3};
    AUTO(arena) arena = arena_new();
    expect_text(phrase_excuse(arena, &finding), "agreed");
    finding.went_on = true;
    cr_assert(day_parse(TEXT("2026-10-31"), &finding.excused_first, NULL));
    expect_text(phrase_excuse(arena, &finding),
                "agreed (It went on after the audit as of 2026-10-31, the first to have it "
                "excused: 1 affected result is later)");
}
