/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/summary_page.h"

#include <string.h>

#include "base/output.h"
#include "findings/portrait.h"
#include "reports/page_parts.h"
#include "reports/phrases.h"
#include "reports/since.h"
#include "reports/summary_pictures.h"

static void page_head(struct document *document, const struct view *view)
{
    struct arena *arena = document->arena;
    const struct audit *audit = view->audit;
    struct text period = phrase_period(arena, audit->from, audit->to), as_of = phrase_day(arena, audit->as_of);
    document_say(document, ROLE_ABOVE, text_print(arena, "Compliance summary, %.*s", TEXT_FORMAT(period)));
    document_heading(document, site_title(view->only));
    document_say(
        document, ROLE_PLAIN,
        text_print(arena, "Waived testing, from the site’s own records as they stood on %.*s", TEXT_FORMAT(as_of)));
}

static void card_row(struct document *document, const char *what, struct text value)
{
    document_row(document);
    document_cell(document, text_of(what));
    document_cell(document, value.size > 0 ? value : TEXT("not in the records"));
    document_close(document);
}

static struct text certificate(struct arena *arena, const struct portrait *portrait)
{
    if (portrait->certificate_number.size == 0)
        return (struct text){NULL, 0};
    struct text issued = phrase_day(arena, portrait->certificate_issued_on);
    struct text expires = phrase_day(arena, portrait->certificate_expires_on);
    return text_print(arena, "%.*s (%.*s), issued %.*s, in force until %.*s", TEXT_FORMAT(portrait->certificate_number),
                      TEXT_FORMAT(portrait->certificate_kind), TEXT_FORMAT(issued), TEXT_FORMAT(expires));
}

static void card(struct document *document, const struct view *view)
{
    static const struct table_column columns[] = {{.title = "The site", .is_head = true}, {.title = "In its records"}};
    struct arena *arena = document->arena;
    const struct portrait *portrait = view->only->portrait;
    struct text people = phrase_number(arena, portrait->operator_count);
    struct text analyzers = phrase_number(arena, portrait->analyzer_count);
    document_table(document, TEXT("Who answers for testing here"), columns, 2);
    card_row(document, "Certificate", certificate(arena, portrait));
    card_row(document, "Laboratory director", portrait->director);
    card_row(document, "Operators", people);
    card_row(document, "Analyzers and benches", analyzers);
    document_close(document);
}

static void volumes(struct document *document, const struct view *view)
{
    static const struct table_column columns[] = {{.title = "Test", .is_head = true},
                                                  {.title = "Category"},
                                                  {.title = "On the menu"},
                                                  {.title = "Results", .is_number = true},
                                                  {.title = "Controls", .is_number = true}};
    const struct portrait *portrait = view->only->portrait;
    document_table(document, TEXT("Menu and volumes of the period"), columns, 5);
    for (size_t i = 0; i < portrait->volume_count; i++) {
        const struct portrait_volume *volume = &portrait->volumes[i];
        struct text name =
            volume->analyte.size > 0
                ? text_print(document->arena, "%.*s (%.*s)", TEXT_FORMAT(volume->analyte), TEXT_FORMAT(volume->method))
                : volume->method;
        document_row(document);
        document_cell(document, name);
        document_cell(document, volume->waived ? TEXT("waived") : TEXT("not waived"));
        document_cell(document, volume->on_menu ? TEXT("yes") : TEXT("no"));
        document_cell(document, phrase_number(document->arena, volume->tests));
        document_cell(document, phrase_number(document->arena, volume->controls));
        document_close(document);
    }
    document_close(document);
}

/* ---- findings by theme ---- */

static struct text theme_of(const struct rule_text *rule)
{
    const char *dot = memchr(rule->id.data, '.', rule->id.size);
    return (struct text){rule->id.data, dot != NULL ? (size_t)(dot - rule->id.data) : rule->id.size};
}

struct theme_sum {
    struct text theme;
    size_t open[SEVERITY_COUNT], answered, excused, silent;
};

static struct theme_sum *theme_at(struct theme_sum *sums, size_t *count, const struct rule_text *rule)
{
    struct text theme = theme_of(rule);
    for (size_t i = 0; i < *count; i++)
        if (text_equal(sums[i].theme, theme))
            return &sums[i];
    sums[*count] = (struct theme_sum){.theme = theme};
    return &sums[(*count)++];
}

/* One a theme that a rule of the audit has, in the order of the rules. */
static size_t sum_themes(const struct view *view, struct theme_sum *sums)
{
    size_t count = 0;
    for (size_t i = 0; i < view->sum_count; i++)
        theme_at(sums, &count, view->sums[i].rule);
    for (size_t i = 0; i < view->silence_count; i++)
        theme_at(sums, &count, view->silences[i].rule)->silent++;
    for (size_t i = 0; i < view->open_count; i++)
        theme_at(sums, &count, view->worst[i]->rule)->open[view->worst[i]->severity]++;
    for (size_t i = 0; i < view->apart_count; i++) {
        struct theme_sum *sum = theme_at(sums, &count, view->apart[i]->rule);
        *(view->apart[i]->state == FINDING_ANSWERED ? &sum->answered : &sum->excused) += 1;
    }
    return count;
}

static bool is_quiet(const struct theme_sum *sum)
{
    size_t findings = sum->answered + sum->excused;
    for (enum severity severity = 0; severity < SEVERITY_COUNT; severity++)
        findings += sum->open[severity];
    return findings == 0 && sum->silent == 0;
}

/* In a table of few findings zeros would hide them. */
static struct text some(struct arena *arena, size_t number)
{
    return number > 0 ? phrase_number(arena, number) : TEXT("–");
}

static void theme_row(struct document *document, const struct theme_sum *sum)
{
    struct arena *arena = document->arena;
    document_row(document);
    document_cell(document, sum->theme);
    for (enum severity severity = 0; severity < SEVERITY_COUNT; severity++)
        document_cell(document, some(arena, sum->open[severity]));
    document_cell(document, some(arena, sum->answered));
    document_cell(document, some(arena, sum->excused));
    document_cell(document, some(arena, sum->silent));
    document_close(document);
}

static void themes(struct document *document, const struct view *view)
{
    static const struct table_column columns[] = {
        {.title = "Theme", .is_head = true},     {.title = "At-risk", .is_number = true},
        {.title = "Breach", .is_number = true},  {.title = "Practice", .is_number = true},
        {.title = "Notice", .is_number = true},  {.title = "Answered", .is_number = true},
        {.title = "Excused", .is_number = true}, {.title = "Rules not judged", .is_number = true},
    };
    struct arena *arena = document->arena;
    size_t most = view->sum_count + view->silence_count + view->open_count + view->apart_count + 1;
    struct theme_sum *sums = arena_take(arena, most * sizeof *sums);
    size_t count = sum_themes(view, sums), quiet_count = 0;
    struct text quiet = TEXT("");
    for (size_t i = 0; i < count; i++)
        if (is_quiet(&sums[i]))
            quiet = text_print(arena, "%.*s%s%.*s", TEXT_FORMAT(quiet), quiet_count++ > 0 ? ", " : "",
                               TEXT_FORMAT(sums[i].theme));
    if (quiet_count < count) {
        document_table(document, TEXT("Findings by theme: open ones by severity, then those closed"), columns,
                       sizeof columns / sizeof *columns)
            ->stacks = true;
        for (size_t i = 0; i < count; i++)
            if (!is_quiet(&sums[i]))
                theme_row(document, &sums[i]);
        document_close(document);
    }
    if (quiet_count > 0)
        document_say(document, ROLE_SMALL,
                     text_print(arena, "No findings, and no rule left out, in: %.*s.", TEXT_FORMAT(quiet)));
}

static void share(struct document *document, const struct view *view)
{
    struct arena *arena = document->arena;
    if (view->tests == 0)
        return;
    struct text percent = phrase_vouched(arena, view);
    struct text interval = phrase_interval(arena, view->vouched, view->tests);
    document_say(document, ROLE_LEAD,
                 text_print(arena,
                            "%.*s of the results are fully vouched for (95 %% interval %.*s): no at-risk or breach "
                            "finding names them.",
                            TEXT_FORMAT(percent), TEXT_FORMAT(interval)));
}

static void in_short(struct document *document, const struct view *view)
{
    document_section(document, TEXT("short"), SECTION_PLAIN);
    document_heading(document, TEXT("The site in short"));
    document_say(document, ROLE_VERDICT, phrase_verdict(document->arena, view));
    page_warnings_in_short(document, view);
    share(document, view);
    document_say(document, ROLE_PLAIN, phrase_findings(document->arena, view));
    page_share_leaves_out(document, view);
    if (view->only->portrait != NULL) {
        card(document, view);
        volumes(document, view);
    }
    themes(document, view);
    document_sign(document, SIGN_SHORT, TEXT("Laboratory director, date"));
    document_sign(document, SIGN_SHORT, TEXT("Inspector, date"));
    document_break(document);
    document_close(document);
}

/* ---- evidence by requirement ---- */

/* "package insert: 42 CFR 493.15(e)(1)" */
static struct text asked_by(struct arena *arena, const struct rule_text *rule)
{
    struct text asked = rule->by ? TEXT("whoever the method file names") : text_of(duty_asker(rule->duty));
    for (size_t i = 0; i < rule->basis_count; i++)
        asked = text_print(arena, "%.*s%s%.*s", TEXT_FORMAT(asked), i == 0 ? ": " : "; ", TEXT_FORMAT(rule->basis[i]));
    return asked;
}

static size_t open_of(const struct view *view, const struct rule_text *rule)
{
    size_t open = 0;
    for (size_t i = 0; i < view->open_count; i++)
        open += view->worst[i]->rule == rule;
    return open;
}

static void nothing_to_judge(struct document *document, const struct view *view)
{
    AUTO(output) list = output_memory();
    for (size_t i = 0; i < view->sum_count; i++)
        if (view->sums[i].judged == 0) {
            output_text(list, output_taken(list).size > 0 ? TEXT(", ") : TEXT(""));
            output_text(list, view->sums[i].rule->id);
        }
    struct text taken = output_taken(list);
    if (taken.size > 0)
        document_say(
            document, ROLE_SMALL,
            text_print(document->arena,
                       "These rules judged nothing, for nothing of their kind happened in the period or no row has "
                       "the cells that they need: %.*s.",
                       TEXT_FORMAT(taken)));
}

static void evidence(struct document *document, const struct view *view)
{
    static const struct table_column columns[] = {
        {.title = "What is asked", .is_head = true}, {.title = "By whom"},
        {.title = "Judged", .is_number = true},      {.title = "Met", .is_number = true},
        {.title = "Findings", .is_number = true},    {.title = "Open", .is_number = true},
    };
    struct arena *arena = document->arena;
    document_section(document, TEXT("evidence"), SECTION_PLAIN);
    document_heading(document, TEXT("Evidence by requirement"));
    document_say(document, ROLE_PLAIN,
                 TEXT("Each line is a rule that was judged on the site’s records: how many events it looked at, how "
                      "many met it, and what is still open."));
    document_table(document, TEXT("Rules judged, by theme"), columns, sizeof columns / sizeof *columns)->stacks = true;
    for (size_t i = 0; i < view->sum_count; i++) {
        const struct rule_sum *sum = &view->sums[i];
        if (sum->judged == 0)
            continue;
        document_row(document);
        document_cell(document, page_rule(arena, sum->rule));
        document_cell(document, asked_by(arena, sum->rule));
        document_cell(document, phrase_number(arena, sum->judged));
        document_cell(document, phrase_number(arena, sum->met));
        document_cell(document, phrase_number(arena, sum->findings));
        document_cell(document, phrase_number(arena, open_of(view, sum->rule)));
        document_close(document);
    }
    document_close(document);
    nothing_to_judge(document, view);
    document_close(document);
}

static void open_findings(struct document *document, const struct view *view)
{
    static const struct table_column columns[] = {{.title = "Finding", .is_head = true, .is_word = true},
                                                  {.title = "Severity"},
                                                  {.title = "What was found"},
                                                  {.title = "When"},
                                                  {.title = "Results", .is_number = true},
                                                  {.title = "Close by", .is_word = true}};
    struct arena *arena = document->arena;
    if (view->open_count == 0)
        return;
    document_section(document, TEXT("open"), SECTION_PLAIN);
    document_heading(document, TEXT("Open findings"));
    document_table(document, TEXT("The worst first; the results each one touches are in the fix list"), columns,
                   sizeof columns / sizeof *columns)
        ->stacks = true;
    for (size_t i = 0; i < view->open_count; i++) {
        const struct finding *finding = view->worst[i];
        document_row(document);
        document_cell(document, text_of(finding->number));
        document_open(document, NODE_CELL, 0);
        document_mark(document, finding->severity);
        document_close(document);
        document_cell(document, finding->says);
        document_cell(document, phrase_when(arena, finding));
        document_cell(document, phrase_number(arena, finding->test_count));
        document_cell(document, phrase_day(arena, finding->due_on));
        document_close(document);
    }
    document_close(document);
    document_close(document);
}

/* ---- corrective actions ---- */

static void actions(struct document *document, const struct view *view)
{
    static const struct table_column columns[] = {{.title = "Action", .is_head = true},
                                                  {.title = "Opened"},
                                                  {.title = "About"},
                                                  {.title = "Problem"},
                                                  {.title = "Taken"},
                                                  {.title = "Owner"},
                                                  {.title = "Closed"},
                                                  {.title = "Verified by"}};
    const struct portrait *portrait = view->only->portrait;
    struct arena *arena = document->arena;
    document_section(document, TEXT("actions"), SECTION_PLAIN);
    document_heading(document, TEXT("Corrective actions"));
    if (portrait->action_count == 0)
        document_say(document, ROLE_PLAIN, TEXT("The actions log holds none."));
    else
        document_table(document, TEXT("The actions log, oldest first"), columns, sizeof columns / sizeof *columns)
            ->stacks = true;
    for (size_t i = 0; i < portrait->action_count; i++) {
        const struct finding_answer *action = &portrait->actions[i];
        document_row(document);
        document_cell(document, action->action);
        document_cell(document, phrase_day(arena, action->opened_on));
        document_cell(document, action->finding.size > 0 ? action->finding : action->about);
        document_cell(document, action->problem);
        document_cell(document, action->taken);
        document_cell(document, action->owner);
        document_cell(document, phrase_day(arena, action->closed_on));
        document_cell(document, action->verified_by);
        document_close(document);
    }
    if (portrait->action_count > 0)
        document_close(document);
    document_close(document);
}

struct document *summary_page(const struct view *view)
{
    struct document *document = document_new((struct text){NULL, 0});
    struct arena *arena = document->arena;
    struct text title = site_title(view->only), period = phrase_period(arena, view->audit->from, view->audit->to);
    document->title = text_print(arena, "%.*s: compliance summary, %.*s", TEXT_FORMAT(title), TEXT_FORMAT(period));
    page_head(document, view);
    if (view->only->missing)
        document_say(document, ROLE_CAUTION,
                     text_print(arena, "This site could not be audited: %.*s", TEXT_FORMAT(view->only->why)));
    else {
        in_short(document, view);
        if (view->only->portrait != NULL)
            summary_pictures(document, view);
        evidence(document, view);
        page_not_judged(document, view);
        open_findings(document, view);
        page_since(document, view);
        if (view->only->portrait != NULL)
            actions(document, view);
    }
    page_cautions(document);
    page_made_by(document, view->audit);
    return document;
}
