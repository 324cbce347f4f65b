/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/since.h"

#include "reports/phrases.h"

enum { SHOWN_MOST = 100 };

struct tally {
    size_t closed, gone, lost, back, went_on;
};

static bool is_shown(const struct view *view, struct text site)
{
    return view->only == NULL || text_equal(view->only->site, site);
}

static size_t count_earlier(const struct view *view, const struct earlier_finding *findings, size_t count)
{
    size_t shown = 0;
    for (size_t i = 0; i < count; i++)
        shown += is_shown(view, findings[i].site);
    return shown;
}

static struct tally count_all(const struct view *view)
{
    const struct audit *audit = view->audit;
    struct tally tally = {count_earlier(view, audit->closed, audit->closed_count),
                          count_earlier(view, audit->gone, audit->gone_count),
                          count_earlier(view, audit->lost, audit->lost_count), 0, 0};
    for (size_t i = 0; i < audit->finding_count; i++) {
        const struct finding *finding = &audit->findings[i];
        tally.went_on += finding->went_on && is_shown(view, finding->site);
        tally.back += finding->returned[0] != '\0' && is_shown(view, finding->site);
    }
    return tally;
}

/* ---- in a sentence ---- */

static struct text since_sentence(struct arena *arena, size_t count, day_number day, const char *one, const char *many)
{
    struct text since = phrase_day(arena, day), found = phrase_count(arena, count, "finding", "findings");
    return text_print(arena, "Since the audit as of %.*s %.*s %s.", TEXT_FORMAT(since), TEXT_FORMAT(found),
                      count == 1 ? one : many);
}

struct text since_phrase(struct arena *arena, const struct view *view)
{
    struct tally tally = count_all(view);
    struct text parts[5], all = {NULL, 0};
    size_t count = 0;
    if (tally.closed > 0)
        parts[count++] = since_sentence(arena, tally.closed, view->audit->closed_since, "was closed", "were closed");
    if (tally.gone > 0)
        parts[count++] = since_sentence(arena, tally.gone, view->audit->gone_since, "is gone", "are gone");
    if (tally.lost > 0)
        parts[count++] = text_print(arena, "%.*s of an earlier audit of these days %s not found any more.",
                                    TEXT_FORMAT(phrase_count(arena, tally.lost, "finding", "findings")),
                                    tally.lost == 1 ? "is" : "are");
    if (tally.back > 0)
        parts[count++] = text_print(arena, "%.*s came back after the action was closed.",
                                    TEXT_FORMAT(phrase_count(arena, tally.back, "finding", "findings")));
    if (tally.went_on > 0)
        parts[count++] = text_print(arena, "%.*s went on after it was excused.",
                                    TEXT_FORMAT(phrase_count(arena, tally.went_on, "finding", "findings")));
    for (size_t i = 0; i < count; i++)
        all = i == 0 ? parts[i] : text_print(arena, "%.*s %.*s", TEXT_FORMAT(all), TEXT_FORMAT(parts[i]));
    return all;
}

/* ---- as a section ---- */

static void row(struct document *document, const struct view *view, struct text number, struct text rule,
                struct text site, struct text what)
{
    document_row(document);
    document_cell(document, number);
    document_cell(document, rule);
    if (audit_has_sites(view->audit))
        document_cell(document, site);
    document_cell(document, what);
    document_close(document);
}

static void earlier_rows(struct document *document, const struct view *view, const struct earlier_finding *findings,
                         size_t count, struct text what)
{
    size_t shown = 0;
    for (size_t i = 0; i < count && shown < SHOWN_MOST; i++) {
        if (!is_shown(view, findings[i].site))
            continue;
        shown++;
        row(document, view, text_of(findings[i].number), findings[i].rule, findings[i].site, what);
    }
}

static void went_on_rows(struct document *document, const struct view *view)
{
    size_t shown = 0;
    for (size_t i = 0; i < view->audit->finding_count && shown < SHOWN_MOST; i++) {
        const struct finding *finding = &view->audit->findings[i];
        if (!finding->went_on || !is_shown(view, finding->site))
            continue;
        shown++;
        struct text first = phrase_day(document->arena, finding->excused_first);
        row(document, view, text_of(finding->number), finding->rule->id, finding->site,
            text_print(document->arena, "Excused as of %.*s, and went on", TEXT_FORMAT(first)));
    }
}

static struct text how_back(struct arena *arena, const struct finding *finding)
{
    if (text_is(text_of(finding->number), finding->returned))
        return TEXT("Found again later than its action was closed");
    return text_print(arena, "Began after %s, of the same kind, was closed", finding->returned);
}

static void back_rows(struct document *document, const struct view *view)
{
    size_t shown = 0;
    for (size_t i = 0; i < view->audit->finding_count && shown < SHOWN_MOST; i++) {
        const struct finding *finding = &view->audit->findings[i];
        if (finding->returned[0] == '\0' || !is_shown(view, finding->site))
            continue;
        shown++;
        row(document, view, text_of(finding->number), finding->rule->id, finding->site,
            how_back(document->arena, finding));
    }
}

void page_since(struct document *document, const struct view *view)
{
    static const struct table_column of_site[] = {
        {.title = "Finding", .is_head = true, .is_word = true}, {.title = "Rule"}, {.title = "What became of it"}};
    static const struct table_column of_sites[] = {{.title = "Finding", .is_head = true, .is_word = true},
                                                   {.title = "Rule"},
                                                   {.title = "Site"},
                                                   {.title = "What became of it"}};
    const struct audit *audit = view->audit;
    struct arena *arena = document->arena;
    struct text phrase = since_phrase(arena, view);
    bool several = audit_has_sites(audit);
    if (phrase.data == NULL)
        return;
    struct text closed = phrase_day(arena, audit->closed_since), gone = phrase_day(arena, audit->gone_since);
    document_section(document, TEXT("since"), SECTION_PLAIN);
    document_heading(document, TEXT("Since the audits before"));
    document_say(document, ROLE_PLAIN, phrase);
    document_table(document,
                   TEXT("Findings that came back, went on, were closed or are gone, a hundred of each at most"),
                   several ? of_sites : of_site, several ? 4 : 3);
    back_rows(document, view);
    went_on_rows(document, view);
    earlier_rows(document, view, audit->closed, audit->closed_count,
                 text_print(arena, "Closed and verified; open as of %.*s", TEXT_FORMAT(closed)));
    earlier_rows(
        document, view, audit->gone, audit->gone_count,
        text_print(arena, "Not found any more; found as of %.*s. The logs say otherwise now", TEXT_FORMAT(gone)));
    earlier_rows(document, view, audit->lost, audit->lost_count,
                 TEXT("Not found any more; an earlier audit of these days found it. Logs, settings or rules "
                      "say otherwise now"));
    document_close(document);
    document_close(document);
}
