/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/decisions.h"

#include <stdlib.h>

#include "reports/phrases.h"
#include "reports/pictures/funnel.h"
#include "reports/reports.h"
#include "stats/intervals.h"
#include "stats/tails.h"

enum {
    SITES_SHOWN = 20,
    DUE_SHOWN = 10,
    DUE_SOON = 7, /* days from as-of on */
};

/* ---- sites beyond the funnel's limits ---- */

struct outlier {
    const struct site_result *site;
    double share, limit; /* of results not vouched for; what chance allows */
};

static int by_excess(const void *a, const void *b)
{
    const struct outlier *one = a, *other = b;
    double first = one->share - one->limit, second = other->share - other->limit;
    if (first != second)
        return first > second ? -1 : 1;
    return text_compare(one->site->site, other->site->site);
}

/* Sites above the limit that one site in a thousand passes by chance if all are alike. */
static size_t find_outliers(const struct view *view, struct outlier *out)
{
    const double tail = 0.001;
    size_t count = 0;
    double all = view->tests == 0 ? 0 : (double)(view->tests - view->vouched) / (double)view->tests;
    for (size_t i = 0; i < view->audit->site_count; i++) {
        const struct site_result *site = &view->audit->sites[i];
        if (site->missing || site->tests == 0)
            continue;
        double bad = (double)(site->tests - site->tests_vouched), tests = (double)site->tests;
        if (binomial_upper(bad, tests, all) < tail)
            out[count++] = (struct outlier){site, bad / tests, funnel_limits(all, site->tests, tail).high};
    }
    if (count > 1)
        qsort(out, count, sizeof *out, by_excess);
    return count;
}

static void outliers(struct document *document, const struct view *view)
{
    static const struct table_column columns[] = {{.title = "Site", .is_head = true},
                                                  {.title = "Results", .is_number = true},
                                                  {.title = "Not vouched for", .is_number = true},
                                                  {.title = "Share of them", .is_number = true},
                                                  {.title = "Chance allows up to", .is_number = true}};
    struct arena *arena = document->arena;
    struct outlier *found = arena_take(arena, (view->audit->site_count + 1) * sizeof *found);
    size_t count = find_outliers(view, found);
    document_heading(document, TEXT("Sites with more in doubt than chance explains"));
    document_figure(document, funnel(arena, view->audit));
    if (count == 0) {
        document_say(document, ROLE_PLAIN,
                     TEXT("None: where the shares differ, the numbers are small enough for chance."));
        return;
    }
    document_table(document,
                   TEXT("Against the program as a whole; one site in a thousand would pass the limit by chance"),
                   columns, 5)
        ->stacks = true;
    for (size_t i = 0; i < count && i < SITES_SHOWN; i++) {
        const struct site_result *site = found[i].site;
        document_row(document);
        document_open(document, NODE_CELL, 0);
        document_file_link(document, site_title(site), report_site_page(arena, site, "fixlist.html"));
        document_close(document);
        document_cell(document, phrase_number(arena, site->tests));
        document_cell(document, phrase_number(arena, site->tests - site->tests_vouched));
        document_cell(document, phrase_share(arena, site->tests - site->tests_vouched, site->tests));
        document_cell(document, text_print(arena, "%.1f %%", found[i].limit * 100));
        document_close(document);
    }
    document_close(document);
    if (count > SITES_SHOWN)
        document_say(document, ROLE_SMALL,
                     text_print(arena, "%.*s more stand in the table of sites.",
                                TEXT_FORMAT(phrase_number(arena, count - SITES_SHOWN))));
}

/* ---- what is due ---- */

static int by_due(const void *a, const void *b)
{
    const struct finding *one = *(const struct finding *const *)a, *other = *(const struct finding *const *)b;
    if (one->due_on != other->due_on)
        return one->due_on < other->due_on ? -1 : 1;
    return one < other ? -1 : one > other;
}

static void due(struct document *document, const struct view *view)
{
    static const struct table_column columns[] = {{.title = "Finding", .is_head = true, .is_word = true},
                                                  {.title = "Site"},
                                                  {.title = "What was found"},
                                                  {.title = "Close by", .is_word = true}};
    struct arena *arena = document->arena;
    const struct finding **list = arena_take(arena, (view->open_count + 1) * sizeof(void *));
    size_t count = 0;
    for (size_t i = 0; i < view->open_count; i++)
        if (view->worst[i]->due_on != DAY_ABSENT && view->worst[i]->due_on <= view->audit->as_of + DUE_SOON)
            list[count++] = view->worst[i];
    if (count > 1)
        qsort(list, count, sizeof(void *), by_due);
    document_heading(document, TEXT("Overdue, or due within a week"));
    if (count == 0) {
        document_say(document, ROLE_PLAIN, TEXT("Nothing."));
        return;
    }
    struct text findings = phrase_count(arena, count, "finding", "findings");
    document_table(document, text_print(arena, "%.*s; the first to be closed on top", TEXT_FORMAT(findings)), columns,
                   4)
        ->stacks = true;
    for (size_t i = 0; i < count && i < DUE_SHOWN; i++) {
        document_row(document);
        document_cell(document, text_of(list[i]->number));
        document_cell(document, list[i]->site);
        document_cell(document, list[i]->says);
        document_cell(document, phrase_day(arena, list[i]->due_on));
        document_close(document);
    }
    document_close(document);
}

void page_decisions(struct document *document, const struct view *view)
{
    if (!audit_has_sites(view->audit) || view->audited == 0)
        return;
    document_section(document, TEXT("decide"), SECTION_PLAIN);
    document_heading(document, TEXT("What needs a decision"));
    document_section(document, TEXT(""), SECTION_PLAIN);
    outliers(document, view);
    document_close(document);
    document_section(document, TEXT(""), SECTION_PLAIN);
    due(document, view);
    document_close(document);
    document_close(document);
}
