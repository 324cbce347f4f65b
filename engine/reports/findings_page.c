/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/findings_page.h"

#include <inttypes.h>

#include "reports/decisions.h"
#include "reports/page_parts.h"
#include "reports/phrases.h"
#include "reports/reports.h"
#include "reports/since.h"

enum { DO_FIRST = 5 };

static void page_head(struct document *document, const struct audit *audit)
{
    struct text period = phrase_period(document->arena, audit->from, audit->to);
    char from[DAY_TEXT_SIZE], to[DAY_TEXT_SIZE], as_of[DAY_TEXT_SIZE];
    day_print(audit->from, from);
    day_print(audit->to, to);
    day_print(audit->as_of, as_of);
    document_say(document, ROLE_ABOVE,
                 text_print(document->arena, "Audit of testing records, %.*s", TEXT_FORMAT(period)));
    document_heading(document, audit_title(audit));
    document_say(document, ROLE_PLAIN,
                 text_print(document->arena, "Testing days %s to %s, as the records stood on %s", from, to, as_of));
}

static void share(struct document *document, const struct view *view)
{
    if (view->tests == 0)
        return;
    struct arena *arena = document->arena;
    struct text percent = phrase_vouched(arena, view);
    struct text interval = phrase_interval(arena, view->vouched, view->tests);
    struct text controls = phrase_count(arena, view->controls, "control was", "controls were");
    document_say(document, ROLE_PLAIN,
                 text_print(arena,
                            "%.*s of the results are vouched for (95 %% interval %.*s): no at-risk or breach finding "
                            "names them. %.*s run in the period.",
                            TEXT_FORMAT(percent), TEXT_FORMAT(interval), TEXT_FORMAT(controls)));
}

static void severity_table(struct document *document, const struct view *view)
{
    static const struct table_column columns[] = {
        {.title = "Severity", .is_head = true}, {.title = "Findings", .is_number = true}, {.title = "What it means"}};
    document_table(document, TEXT("Open findings by severity, worst first"), columns, 3);
    for (enum severity severity = 0; severity < SEVERITY_COUNT; severity++) {
        document_row(document);
        document_open(document, NODE_CELL, 0);
        document_mark(document, severity);
        document_close(document);
        document_cell(document, phrase_number(document->arena, view->open[severity]));
        document_cell(document, text_of(severity_meaning(severity)));
        document_close(document);
    }
    document_close(document);
}

static void what_is_missing(struct document *document, const struct view *view)
{
    for (size_t i = 0; i < view->audit->site_count; i++) {
        const struct site_result *site = &view->audit->sites[i];
        if (site->missing)
            document_say(document, ROLE_CAUTION,
                         text_print(document->arena, "Not audited: %.*s. %.*s", TEXT_FORMAT(site->site),
                                    TEXT_FORMAT(site->why)));
    }
    for (size_t i = 0; i < view->audit->rule_count && view->broke > 0; i++) {
        const struct rule_at_site *rule = &view->audit->rules[i];
        if (rule->broke)
            document_say(document, ROLE_CAUTION,
                         text_print(document->arena, "The rule %.*s was not judged at %.*s: %.*s",
                                    TEXT_FORMAT(rule->rule->id), TEXT_FORMAT(rule->site), TEXT_FORMAT(rule->why)));
    }
}

static void in_short(struct document *document, const struct view *view)
{
    document_section(document, TEXT("short"), SECTION_PLAIN);
    document_heading(document, TEXT("In short"));
    document_say(document, ROLE_VERDICT, phrase_verdict(document->arena, view));
    document_say(document, ROLE_LEAD, phrase_findings(document->arena, view));
    what_is_missing(document, view);
    page_warnings_in_short(document, view);
    share(document, view);
    page_share_leaves_out(document, view);
    severity_table(document, view);
    document_close(document);
}

static void first_item(struct document *document, const struct view *view, const struct finding *finding)
{
    struct arena *arena = document->arena;
    document_open(document, NODE_ITEM, 0);
    document_open(document, NODE_PARAGRAPH, ROLE_PLAIN);
    if (audit_has_sites(view->audit))
        document_text(document, text_print(arena, "%.*s: ", TEXT_FORMAT(finding->site)));
    if (page_is_split(view))
        document_file_link(document, finding->says,
                           report_site_page(arena, view_site(view, finding->site), "fixlist.html"));
    else
        document_link(document, finding->says, text_of(finding->number));
    document_close(document);
    document_open(document, NODE_PARAGRAPH, ROLE_SMALL);
    document_mark(document, finding->severity);
    if (finding->test_count > 0) {
        struct text results = phrase_count(arena, finding->test_count, "affected result", "affected results");
        document_text(document, text_print(arena, ", %.*s", TEXT_FORMAT(results)));
    }
    document_text(document, TEXT(". "));
    document_text(document, finding->rule->remedy);
    document_close(document);
    document_close(document);
}

static void do_first(struct document *document, const struct view *view)
{
    const struct finding *chosen[DO_FIRST];
    size_t count = view_first(view, chosen, DO_FIRST);
    if (count == 0)
        return;
    document_section(document, TEXT("first"), SECTION_PLAIN);
    document_heading(document, TEXT("What to do first"));
    document_open(document, NODE_LIST, 0);
    for (size_t i = 0; i < count; i++)
        first_item(document, view, chosen[i]);
    document_close(document);
    document_close(document);
}

static void open_by_site(const struct view *view, struct text site, size_t open[SEVERITY_COUNT])
{
    for (size_t i = 0; i < view->group_count; i++)
        if (text_equal(view->groups[i].findings[0]->site, site))
            open[view->groups[i].findings[0]->severity] += view->groups[i].count;
}

static void site_row(struct document *document, const struct view *view, const struct site_result *site)
{
    struct arena *arena = document->arena;
    size_t open[SEVERITY_COUNT] = {0};
    open_by_site(view, site->site, open);
    document_row(document);
    document_open(document, NODE_CELL, 0);
    document_file_link(document, site_title(site), report_site_page(arena, site, "fixlist.html"));
    document_close(document);
    document_cell(document, phrase_number(arena, site->tests));
    document_cell(document, phrase_number(arena, site->tests - site->tests_vouched));
    document_cell(document, phrase_share(arena, site->tests_vouched, site->tests));
    document_cell(document, phrase_interval(arena, site->tests_vouched, site->tests));
    document_cell(document, phrase_number(arena, site->controls));
    for (enum severity severity = 0; severity < SEVERITY_COUNT; severity++)
        document_cell(document, phrase_number(arena, open[severity]));
    document_close(document);
}

static void site_by_site(struct document *document, const struct view *view)
{
    static const struct table_column columns[] = {
        {.title = "Site", .is_head = true},
        {.title = "Results", .is_number = true},
        {.title = "Not vouched for", .is_number = true},
        {.title = "Share vouched for", .is_number = true},
        {.title = "95 % interval", .is_number = true},
        {.title = "Controls", .is_number = true},
        {.title = "At‑risk", .is_number = true},
        {.title = "Breach", .is_number = true},
        {.title = "Practice", .is_number = true},
        {.title = "Notice", .is_number = true},
    };
    if (!audit_has_sites(view->audit) || view->audited == 0)
        return;
    document_section(document, TEXT("sites"), SECTION_PLAIN);
    document_heading(document, TEXT("Site by site"));
    document_table(document, TEXT("Results and open findings of each site"), columns, sizeof columns / sizeof *columns)
        ->stacks = true;
    for (size_t i = 0; i < view->audit->site_count; i++)
        if (!view->audit->sites[i].missing)
            site_row(document, view, &view->audit->sites[i]);
    document_close(document);
    document_close(document);
}

static void judged(struct document *document, const struct view *view)
{
    static const struct table_column columns[] = {{.title = "Rule", .is_head = true},
                                                  {.title = "Judged", .is_number = true},
                                                  {.title = "Met", .is_number = true},
                                                  {.title = "Findings", .is_number = true},
                                                  {.title = "Sites", .is_number = true}};
    if (view->sum_count == 0)
        return;
    struct arena *arena = document->arena;
    bool several = audit_has_sites(view->audit);
    struct text rules = phrase_count(arena, view->sum_count, "rule", "rules");
    document_section(document, TEXT("judged"), SECTION_PLAIN);
    document_heading(document, TEXT("What was judged"));
    struct node *table =
        document_table(document, text_print(arena, "%.*s, with how often each was judged and met", TEXT_FORMAT(rules)),
                       columns, several ? 5 : 4);
    table->folded = true;
    for (size_t i = 0; i < view->sum_count; i++) {
        const struct rule_sum *sum = &view->sums[i];
        document_row(document);
        document_cell(document, page_rule(arena, sum->rule));
        document_cell(document, phrase_number(arena, sum->judged));
        document_cell(document, phrase_number(arena, sum->met));
        document_cell(document, phrase_number(arena, sum->findings));
        if (several)
            document_cell(document, phrase_number(arena, sum->sites));
        document_close(document);
    }
    document_close(document);
    document_close(document);
}

struct document *findings_page(const struct view *view)
{
    const struct audit *audit = view->audit;
    struct document *document = document_new((struct text){NULL, 0});
    struct text title = audit_title(audit), period = phrase_period(document->arena, audit->from, audit->to);
    document->title = text_print(document->arena, "%.*s: findings, %.*s", TEXT_FORMAT(title), TEXT_FORMAT(period));
    page_head(document, audit);
    in_short(document, view);
    page_decisions(document, view);
    do_first(document, view);
    site_by_site(document, view);
    page_open_findings(document, view);
    page_apart_findings(document, view);
    page_since(document, view);
    page_not_judged(document, view);
    judged(document, view);
    page_cautions(document);
    document_say(document, ROLE_SMALL,
                 TEXT("The same findings for spreadsheets: findings.xlsx and findings.csv; for programs: "
                      "findings.json."));
    page_made_by(document, audit);
    return document;
}
