/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every finding as an entry: what was found, whom and what it concerns, the results that it affects, the evidence. What
 * the findings of a rule share (who asks, what to do) is said once above them. */
#include "reports/affected.h"
#include "reports/findings_page.h"
#include "reports/phrases.h"
#include "reports/reports.h"

enum {
    FOLD_FINDINGS = 60, /* in a page with more findings rules are folded */
};

/* "Analyzer A1, lot K118. 2026-10-07 09:12 to 16:40." */
static void facts(struct document *document, const struct finding *finding, struct text more)
{
    const struct text parts[] = {more, phrase_subject(document->arena, finding), phrase_when(document->arena, finding)};
    document_open(document, NODE_PARAGRAPH, ROLE_SMALL);
    bool any = false;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (parts[i].size == 0)
            continue;
        document_text(document, any ? TEXT(" · ") : TEXT(""));
        document_text(document, parts[i]);
        any = true;
    }
    document_close(document);
}

static void evidence(struct document *document, const struct finding *finding)
{
    struct text places = phrase_evidence(document->arena, finding);
    if (places.size > 0)
        document_say(document, ROLE_SMALL, text_print(document->arena, "Evidence: %.*s", TEXT_FORMAT(places)));
}

/* `more` is said with the facts; a mark stands in the margin of an entry whose neighbours differ in severity. */
static void entry(struct document *document, const struct finding *finding, struct text more, bool with_mark)
{
    document_section(document, text_of(finding->number), SECTION_ENTRY);
    document_heading(document, finding->says);
    document_open(document, NODE_MARGIN, 0);
    if (with_mark)
        document_mark(document, finding->severity);
    document_strong(document, text_of(finding->number));
    document_text(document, TEXT(" "));
    document_text(document, text_of(finding_state_name(finding->state)));
    document_close(document);
    facts(document, finding, more);
    if (finding->excuse.size > 0)
        document_say(
            document, ROLE_PLAIN,
            text_print(document->arena, "Excused: %.*s", TEXT_FORMAT(phrase_excuse(document->arena, finding))));
    document_affected(document, finding);
    evidence(document, finding);
    document_close(document);
}

/* "Asked by the package insert: 42 CFR 493.15(e)(1)." */
static struct text who_asks(struct arena *arena, const struct finding *finding)
{
    struct text asked = text_print(arena, "Asked by %s", duty_asker(finding->duty));
    for (size_t i = 0; i < finding->rule->basis_count; i++)
        asked = text_print(arena, "%.*s%s%.*s", TEXT_FORMAT(asked), i == 0 ? ": " : "; ",
                           TEXT_FORMAT(finding->rule->basis[i]));
    return asked;
}

static void group_heading(struct document *document, const struct finding_group *group, bool folded)
{
    const struct finding *first = group->findings[0];
    struct text title = text_print(document->arena, "Expected: %.*s", TEXT_FORMAT(first->rule->title));
    if (!folded) {
        document_heading(document, title);
        document_open(document, NODE_MARGIN, 0);
        document_mark(document, first->severity);
        document_close(document);
        return;
    }
    struct text count = phrase_count(document->arena, group->count, "finding", "findings");
    document_open(document, NODE_HEADING, 0);
    document_mark(document, first->severity);
    document_text(document, text_print(document->arena, ", %.*s. ", TEXT_FORMAT(count)));
    document_text(document, title);
    document_close(document);
}

static bool same_duty(const struct finding_group *group)
{
    for (size_t i = 1; i < group->count; i++)
        if (group->findings[i]->duty != group->findings[0]->duty)
            return false;
    return true;
}

static void rule_group(struct document *document, const struct finding_group *group, bool folded)
{
    const struct finding *first = group->findings[0];
    bool one_duty = same_duty(group);
    struct text nothing = {NULL, 0}, asked = who_asks(document->arena, first);
    document_section(document, nothing, SECTION_PLAIN)->folded = folded;
    group_heading(document, group, folded);
    document_say(document, ROLE_SMALL,
                 text_print(document->arena, "Rule %.*s%s%.*s", TEXT_FORMAT(first->rule->id), one_duty ? " · " : "",
                            one_duty ? (int)asked.size : 0, asked.data));
    document_open(document, NODE_PARAGRAPH, ROLE_DO);
    document_strong(document, TEXT("What to do: "));
    document_text(document, first->rule->remedy);
    document_close(document);
    for (size_t i = 0; i < group->count; i++)
        entry(document, group->findings[i], one_duty ? nothing : who_asks(document->arena, group->findings[i]), false);
    document_close(document);
}

static void site_heading(struct document *document, const struct view *view, struct text site, size_t findings)
{
    const struct site_result *result = view_site(view, site);
    struct text title = result != NULL ? site_title(result) : site;
    struct text count = phrase_count(document->arena, findings, "open finding", "open findings");
    document_heading(document, text_print(document->arena, "%.*s: %.*s", TEXT_FORMAT(title), TEXT_FORMAT(count)));
}

/* The groups of one site from `first` on; returns the first of the next site. */
static size_t site_groups(struct document *document, const struct view *view, size_t first)
{
    const struct finding_group *groups = view->groups;
    struct text site = groups[first].findings[0]->site;
    size_t end = first, findings = 0;
    for (; end < view->group_count && text_equal(groups[end].findings[0]->site, site); end++)
        findings += groups[end].count;

    bool fold = view->open_count > FOLD_FINDINGS, several = audit_has_sites(view->audit);
    if (several) {
        document_section(document, text_print(document->arena, "site-%.*s", TEXT_FORMAT(site)), SECTION_PART);
        site_heading(document, view, site, findings);
    }
    for (size_t i = first; i < end; i++)
        rule_group(document, &groups[i], fold);
    if (several)
        document_close(document);
    return end;
}

bool page_is_split(const struct view *view)
{
    enum { MANY_SITES = 20 };
    return view->audited > MANY_SITES;
}

/* One line a finding, of the worst; each site's own page has all of its findings. */
static void worst_table(struct document *document, const struct view *view)
{
    enum { SHOWN = 100 };
    static const struct table_column columns[] = {{.title = "Finding", .is_head = true, .is_word = true},
                                                  {.title = "Severity"},
                                                  {.title = "Site"},
                                                  {.title = "What was found"},
                                                  {.title = "Results", .is_number = true}};
    struct arena *arena = document->arena;
    size_t count = view->open_count < SHOWN ? view->open_count : SHOWN;
    struct text shown = phrase_number(arena, count), all = phrase_number(arena, view->open_count);
    document_say(
        document, ROLE_PLAIN,
        TEXT("All findings of a site, with the results they affect, stand on its own page; all of all sites in "
             "findings.csv, findings.xlsx and findings.json."));
    document_table(document,
                   text_print(arena, "The worst %.*s of %.*s open findings, by affected results", TEXT_FORMAT(shown),
                              TEXT_FORMAT(all)),
                   columns, 5)
        ->stacks = true;
    for (size_t i = 0; i < count; i++) {
        const struct finding *finding = view->worst[i];
        const struct site_result *site = view_site(view, finding->site);
        document_row(document);
        document_cell(document, text_of(finding->number));
        document_open(document, NODE_CELL, 0);
        document_mark(document, finding->severity);
        document_close(document);
        document_open(document, NODE_CELL, 0);
        document_file_link(document, finding->site, report_site_page(arena, site, "fixlist.html"));
        document_close(document);
        document_cell(document, finding->says);
        document_cell(document, phrase_number(arena, finding->test_count));
        document_close(document);
    }
    document_close(document);
}

void page_open_findings(struct document *document, const struct view *view)
{
    document_section(document, TEXT("findings"), SECTION_PLAIN);
    document_heading(document, TEXT("Every finding"));
    if (view->open_count == 0 && view->apart_count > 0)
        document_say(document, ROLE_PLAIN, TEXT("No finding is open; those answered or excused follow."));
    else if (view->open_count == 0)
        document_say(document, ROLE_PLAIN,
                     view->audited == 0 ? TEXT("No site could be audited, so nothing was found.")
                     : view->tests == 0 ? TEXT("Nothing was found. There were no patient results to judge, either.")
                                        : TEXT("Nothing was found: every rule that was judged was met."));
    else if (page_is_split(view))
        worst_table(document, view);
    else
        document_say(document, ROLE_PLAIN,
                     TEXT("The worst severity first, then by rule. A finding keeps its number from audit to audit; "
                          "“new” means that no earlier audit had it."));
    for (size_t i = 0; i < view->group_count && !page_is_split(view);)
        i = site_groups(document, view, i);
    document_close(document);
}

void page_apart_findings(struct document *document, const struct view *view)
{
    if (view->apart_count == 0)
        return;
    document_section(document, TEXT("apart"), SECTION_PLAIN);
    document_heading(document, TEXT("Answered or excused"));
    document_say(
        document, ROLE_PLAIN,
        TEXT("Answered: a corrective action is closed and was verified by someone else than its owner. Excused: "
             "the site’s settings set it aside, with a reason. They stay in every report."));
    for (size_t i = 0; i < view->apart_count; i++) {
        const struct finding *finding = view->apart[i];
        struct text more = text_print(document->arena, "%.*s (%.*s)", TEXT_FORMAT(finding->rule->title),
                                      TEXT_FORMAT(finding->rule->id));
        if (audit_has_sites(view->audit))
            more = text_print(document->arena, "%.*s: %.*s", TEXT_FORMAT(finding->site), TEXT_FORMAT(more));
        entry(document, finding, more, true);
    }
    document_close(document);
}
