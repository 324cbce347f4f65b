/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <string.h>

#include "reports/pictures/funnel.h"
#include "reports/pictures/svg.h"

/* Sites of 100 tests each, of which 10 are not vouched for. */
static struct audit *audit_of(size_t count)
{
    struct audit *audit = audit_new();
    day_parse(TEXT("2026-10-01"), &audit->from, NULL);
    day_parse(TEXT("2026-10-31"), &audit->to, NULL);
    audit->site_count = count;
    audit->sites = arena_take(audit->arena, (count + 1) * sizeof *audit->sites);
    for (size_t i = 0; i < count; i++)
        audit->sites[i] =
            (struct site_result){.site = text_print(audit->arena, "s%zu", i), .tests = 100, .tests_vouched = 90};
    return audit;
}

static const char *svg_of(const struct audit *audit)
{
    AUTO(output) output = output_memory();
    svg_inline(funnel(audit->arena, audit), 1, output);
    return text_string(audit->arena, output_taken(output));
}

static void expect_all(const char *svg, const char *const *wanted, size_t count)
{
    for (size_t i = 0; i < count; i++)
        cr_expect_not_null(strstr(svg, wanted[i]), "%s in %s", wanted[i], svg);
}

/* Binomial limits at 10 % of 100, R: qbinom(c(.001, .025, .975, .999), 100, .1) gives 2, 5, 16, 20. */
Test(funnel, sites_beyond_the_limits_are_named_and_no_others)
{
    AUTO(audit) audit = audit_of(100);
    audit->sites[0] = (struct site_result){.site = TEXT("far"), .tests = 100, .tests_vouched = 60};
    audit->sites[1] = (struct site_result){.site = TEXT("near"), .tests = 100, .tests_vouched = 81};
    audit->sites[2] = (struct site_result){.site = TEXT("best"), .tests = 100, .tests_vouched = 100};
    audit->sites[3] = (struct site_result){.site = TEXT("tiny"), .tests = 2, .tests_vouched = 1};
    const char *svg = svg_of(audit);
    static const char *const wanted[] = {
        "Results not vouched for, by site, October 2026</title>",
        "Above the upper 99.8 % limit: far (40.0 % of 100 tests). Below the lower one: best (0.0 % of 100 tests). "
        "Between the 95 % and the 99.8 % limits, where chance alone puts about one site in twenty: 1.",
        ">far</text>",
        ">near</text>",
        ">best</text>",
        ">97 within chance</text>",
        ">1 beyond 95 %</text>",
        ">2 beyond 99.8 %</text>",
    };
    expect_all(svg, wanted, sizeof wanted / sizeof *wanted);
    cr_expect_null(strstr(svg, ">tiny</text>"), "half of two tests is chance");
    cr_expect_null(strstr(svg, ">s50</text>"));
}

Test(funnel, sites_without_tests_are_left_out_and_counted)
{
    AUTO(audit) audit = audit_of(4);
    audit->sites[1].missing = true;
    audit->sites[2].tests = audit->sites[2].tests_vouched = 0;
    static const char *const wanted[] = {">Not shown: 2 sites without tests or not audited</text>",
                                         "2 sites; together 10.0 % of 200 results are not vouched for"};
    expect_all(svg_of(audit), wanted, 2);
}

Test(funnel, nothing_one_site_all_good_and_all_bad_are_drawn_too)
{
    AUTO(audit) none = audit_of(0);
    cr_expect_not_null(strstr(svg_of(none), ">No site has tests in this period.</text>"));
    AUTO(audit) one = audit_of(1);
    cr_expect_not_null(strstr(svg_of(one), ">1 within chance</text>"));
    static const uint64_t vouched[] = {0, 100};
    for (size_t i = 0; i < 2; i++) {
        AUTO(audit) audit = audit_of(3);
        for (size_t s = 0; s < 3; s++)
            audit->sites[s].tests_vouched = vouched[i];
        const char *svg = svg_of(audit);
        cr_expect_not_null(strstr(svg, ">3 within chance</text>"), "%s", svg);
        cr_expect_null(strstr(svg, "nan"));
    }
}

Test(funnel, four_hundred_sites_are_drawn_each_and_the_same_again)
{
    AUTO(audit) audit = audit_of(400);
    for (size_t i = 0; i < 400; i++) {
        audit->sites[i].tests = 20 + i * i / 50;
        audit->sites[i].tests_vouched = audit->sites[i].tests * (80 + i * 37 % 20) / 100;
    }
    const char *svg = svg_of(audit);
    cr_expect_str_eq(svg, svg_of(audit));
    size_t marks = 0;
    for (const char *at = svg; (at = strchr(at, '<')) != NULL; at++)
        marks += strncmp(at, "<circle", 7) == 0 || strncmp(at, "<polygon", 8) == 0;
    cr_expect_eq(marks, 403, "%zu: a mark a site, three in the key", marks);
    cr_expect_lt(strlen(svg), 80000);
}

Test(funnel, names_of_sites_cannot_become_markup)
{
    AUTO(audit) audit = audit_of(20);
    audit->sites[0] = (struct site_result){.site = TEXT("<script>\"\x01"), .tests = 100, .tests_vouched = 20};
    const char *svg = svg_of(audit);
    cr_expect_null(strstr(svg, "<script"));
    cr_expect_not_null(strstr(svg, ">&lt;script&gt;&quot;\xef\xbf\xbd</text>"));
}
