/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <string.h>

#include "audits.h"
#include "reports/findings_page.h"
#include "reports/html.h"
#include "reports/reports.h"

static const char *ended(struct output *output)
{
    output_bytes(output, "", 1);
    return output_taken(output).data;
}

static size_t count_of(const char *page, const char *wanted)
{
    size_t count = 0;
    for (const char *at = page; (at = strstr(at, wanted)) != NULL; at += strlen(wanted))
        count++;
    return count;
}

static void write_page(const struct audit *audit, struct output *output)
{
    AUTO(view) view = view_new(audit, NULL);
    AUTO(document) page = findings_page(view);
    html_write(page, output);
}

/* The page of an audit; the output owns it. */
static const char *page_of(const struct audit *audit, struct output *output)
{
    write_page(audit, output);
    return ended(output);
}

Test(html, text_from_records_cannot_become_markup)
{
    AUTO(document) document = document_new(TEXT("</title><script>\"'&"));
    document_section(document, TEXT("a\"b"), SECTION_PLAIN);
    document_heading(document, TEXT("<h1>"));
    document_open(document, NODE_PARAGRAPH, ROLE_PLAIN);
    document_link(document, TEXT("<a>"), TEXT("\"onclick='x'"));
    document_strong(document, TEXT("\x01\x7f\n&amp;"));
    document_close(document);
    static const struct table_column columns[] = {{.title = "<td>"}};
    document_table(document, TEXT("<caption>"), columns, 1)->stacks = true;
    document_row(document);
    document_cell(document, TEXT("<td \"x\">"));
    document_close(document);
    document_close(document);
    AUTO(output) output = output_memory();
    html_write(document, output);
    const char *page = ended(output);
    static const char *const wanted[] = {
        "<title>&lt;/title&gt;&lt;script&gt;&quot;&#39;&amp;</title>",
        "<section id=\"a&quot;b\">",
        "<h2>&lt;h1&gt;</h2>",
        "<a href=\"#&quot;onclick=&#39;x&#39;\">&lt;a&gt;</a>",
        "<strong>\xef\xbf\xbd\xef\xbf\xbd\n&amp;amp;</strong>",
        "<caption>&lt;caption&gt;</caption>",
        "<th scope=col>&lt;td&gt;",
        "<td data-title=\"&lt;td&gt;\">&lt;td &quot;x&quot;&gt;",
        "content: \"\\00003c \\00002f title\\00003e \\00003c script\\00003e \\000022 \\000027 \\000026 \"",
    };
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        cr_expect_not_null(strstr(page, wanted[i]), "%s", wanted[i]);
    cr_expect_null(strstr(page, "<script"));
}

Test(html, a_page_needs_nothing_from_outside)
{
    AUTO(audit) audit = audit_small();
    AUTO(output) output = output_memory();
    const char *page = page_of(audit, output);
    static const char *const unwanted[] = {"<script", "http:", "https:", "<link", "<img", "@import", "url(", " src="};
    for (size_t i = 0; i < sizeof unwanted / sizeof *unwanted; i++)
        cr_expect_null(strstr(page, unwanted[i]), "%s", unwanted[i]);
}

/* Headings may go down by one at a time only; each link has the place that it leads to; each place is there once. */
static void expect_whole(const char *page)
{
    char level = '0';
    for (const char *at = page; (at = strstr(at, "<h")) != NULL; at++) {
        if (at[2] < '1' || at[2] > '6')
            continue;
        cr_expect(at[2] <= level + 1, "a heading of level %c after one of %c", at[2], level);
        level = at[2];
    }
    cr_expect_eq(count_of(page, "<h1>"), 1);
    char place[128];
    for (const char *at = page; (at = strstr(at, "href=\"#")) != NULL; at++) {
        int size = (int)strcspn(at + 7, "\"");
        snprintf(place, sizeof place, strncmp(at + 7, "mark", 4) == 0 ? " id=%.*s " : " id=\"%.*s\"", size, at + 7);
        if (strncmp(at + 7, "content", 7) != 0)
            cr_expect_eq(count_of(page, place), 1, "%s", place);
    }
    cr_expect_eq(count_of(page, "<main id=content>"), 1);
}

Test(html, headings_keep_their_order_and_links_lead_somewhere)
{
    AUTO(audit) small = audit_small();
    AUTO(output) small_page = output_memory();
    expect_whole(page_of(small, small_page));
    AUTO(audit) clean = audit_clean();
    AUTO(output) clean_page = output_memory();
    expect_whole(page_of(clean, clean_page));
    AUTO(audit) sites = audit_large(3, 10, 2);
    AUTO(output) sites_page = output_memory();
    expect_whole(page_of(sites, sites_page));
    AUTO(audit) many = audit_large(30, 80, 1);
    AUTO(output) many_page = output_memory();
    const char *page = page_of(many, many_page);
    expect_whole(page);
    cr_expect_eq(count_of(page, "<article"), 0, "each site's findings stand on its own page");
    cr_expect_geq(count_of(page, "/fixlist.html\""), 30);
}

Test(html, every_finding_and_result_is_on_the_page_also_when_folded)
{
    AUTO(audit) audit = audit_large(2, 100, 31);
    AUTO(output) output = output_memory();
    const char *page = page_of(audit, output);
    cr_expect_eq(count_of(page, "<article id=\"F-"), 100);
    cr_expect_eq(count_of(page, "<th scope=row>T-"), 3100);
    cr_expect_eq(count_of(page, "<details><summary>31 affected results"), 100);
}

Test(html, what_a_reader_must_know_is_said)
{
    AUTO(audit) audit = audit_small();
    audit->warnings = (struct text[]){TEXT("site.yaml:9: policy: lots.expird: there is no such rule")};
    audit->warning_count = 1;
    audit->rules[0].broke = true;
    audit->rules[0].why = TEXT("overdue.lua:7: a nil value");
    AUTO(output) output = output_memory();
    const char *page = page_of(audit, output);
    static const char *const wanted[] = {
        "<h1>Quarry Lane Family Practice</h1>",
        "Audit of testing records, October 2026",
        "Testing days 2026-10-01 to 2026-10-31, as the records stood on 2026-10-31",
        "At least 41 of 412 patient results cannot be vouched for; not all rules could be judged.",
        "At most 90.0 % of the results are vouched for (95 % interval 86.7 to 92.6 %)",
        "which were not judged or are switched off: environment.range.",
        "Asked by the package insert: 42 CFR 493.15(e)(1)",
        "Excused: answered on paper",
        "records/tests.csv, lines 105 to 107, 110; records/lots.csv, line 4",
        "<td>no temperatures log",
        "<td>first year, joins in January",
        "there is no such rule",
        "The rule actions.overdue was not judged at quarry-lane: overdue.lua:7: a nil value",
        "Affected results need a clinical review before anyone acts",
    };
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        cr_expect_not_null(strstr(page, wanted[i]), "%s", wanted[i]);
    for (size_t i = 0; report_caution[i] != NULL; i++)
        cr_expect_gt(strlen(report_caution[i]), 20);
}

Test(html, the_same_audit_gives_the_same_bytes)
{
    AUTO(audit) one = audit_large(3, 90, 3);
    AUTO(output) one_page = output_memory();
    write_page(one, one_page);
    AUTO(audit) other = audit_large(3, 90, 3);
    AUTO(output) other_page = output_memory();
    write_page(other, other_page);
    cr_expect(text_equal(output_taken(one_page), output_taken(other_page)));
}
