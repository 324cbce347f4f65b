/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The summary that an audit prints: the verdict, the worst gaps first, what was not judged, where the report lies. */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "reports/phrases.h"
#include "reports/reports.h"
#include "reports/since.h"
#include "reports/view.h"
#include "reports/wrapped.h"

enum { WORST_SHOWN = 5, SILENCES_SHOWN = 4, LOST_SHOWN = 5, HANGING = 11 };

struct terminal {
    struct output *output;
    struct arena *arena;
    const struct view *view;
    size_t width; /* columns */
};

static void print_wrapped(const struct terminal *terminal, const char *first, size_t indent, struct text text)
{
    wrapped_print(terminal->output, terminal->width, text_of(first), indent, text);
}

/* "14 results on A1 …; lot K118 has code 31 (F-GZPWR9QWFD, 2 affected results, records/tests.csv:105)" */
static void print_finding(const struct terminal *terminal, const struct finding *finding)
{
    struct arena *arena = terminal->arena;
    struct text site = {"", 0}, touched = {"", 0}, place = {"", 0};
    if (audit_has_sites(terminal->view->audit))
        site = text_print(arena, "%.*s: ", TEXT_FORMAT(finding->site));
    if (finding->test_count > 0) {
        touched = phrase_count(arena, finding->test_count, "affected result", "affected results");
        touched = text_print(arena, ", %.*s", TEXT_FORMAT(touched));
    }
    if (finding->evidence_count > 0)
        place = text_print(arena, ", %.*s:%" PRIu32, TEXT_FORMAT(finding->evidence[0].file), finding->evidence[0].line);
    struct text first = text_print(arena, "  %-9s", severity_name(finding->severity));
    print_wrapped(terminal, text_string(arena, first), HANGING,
                  text_print(arena, "%.*s%.*s (%s%.*s%.*s)", TEXT_FORMAT(site), TEXT_FORMAT(finding->says),
                             finding->number, TEXT_FORMAT(touched), TEXT_FORMAT(place)));
}

static void print_worst(const struct terminal *terminal)
{
    const struct view *view = terminal->view;
    if (view->open_count == 0)
        return;
    const struct finding *first[WORST_SHOWN];
    size_t count = view_first(view, first, WORST_SHOWN);
    output_print(terminal->output, "\nThe worst first:\n");
    for (size_t i = 0; i < count; i++)
        print_finding(terminal, first[i]);
    if (view->open_count > count)
        output_print(terminal->output, "  … and %zu more in the report\n", view->open_count - count);
}

static void print_missing(const struct terminal *terminal)
{
    const struct audit *audit = terminal->view->audit;
    for (size_t i = 0; i < audit->site_count; i++)
        if (audit->sites[i].missing)
            print_wrapped(terminal, "Not audited: ", 2,
                          text_print(terminal->arena, "%.*s: %.*s", TEXT_FORMAT(audit->sites[i].site),
                                     TEXT_FORMAT(audit->sites[i].why)));
}

static void print_silences(const struct terminal *terminal)
{
    const struct view *view = terminal->view;
    size_t shown = view->silence_count <= SILENCES_SHOWN + 1 ? view->silence_count : SILENCES_SHOWN;
    for (size_t i = 0; i < shown; i++) {
        const struct rule_remark *silence = &view->silences[i];
        print_wrapped(
            terminal, silence->state == RULE_OFF ? "Switched off: " : "Not judged: ", 2,
            text_print(terminal->arena, "%.*s: %.*s", TEXT_FORMAT(silence->rule->id), TEXT_FORMAT(silence->why)));
    }
    if (shown < view->silence_count)
        output_print(terminal->output, "… and %zu more that were not judged or are off\n", view->silence_count - shown);
}

static void print_set(const struct terminal *terminal)
{
    const struct view *view = terminal->view;
    for (size_t i = 0; i < view->set_count && i < SILENCES_SHOWN; i++)
        print_wrapped(terminal, "Set by policy: ", 2,
                      text_print(terminal->arena, "%.*s: %.*s", TEXT_FORMAT(view->set[i].rule->id),
                                 TEXT_FORMAT(view->set[i].why)));
    if (view->set_count > SILENCES_SHOWN)
        output_print(terminal->output, "… and %zu more that are judged by a policy’s limits\n",
                     view->set_count - SILENCES_SHOWN);
}

static void print_lost(const struct terminal *terminal, const struct audit *audit)
{
    const struct earlier_finding *lost = audit->lost;
    size_t count = audit->lost_count;
    struct arena *arena = terminal->arena;
    struct text numbers = {"", 0};
    for (size_t i = 0; i < count && i < LOST_SHOWN; i++)
        numbers = text_print(arena, "%.*s%s%s (%.*s)", TEXT_FORMAT(numbers), i > 0 ? ", " : "", lost[i].number,
                             TEXT_FORMAT(lost[i].rule));
    if (count > LOST_SHOWN)
        numbers = text_print(arena, "%.*s and %zu more", TEXT_FORMAT(numbers), count - LOST_SHOWN);
    if (count > 0)
        print_wrapped(terminal, "Not found any more: ", 2, numbers);
}

static void print_head(const struct terminal *terminal)
{
    const struct view *view = terminal->view;
    struct arena *arena = terminal->arena;
    struct text period = phrase_period(arena, view->audit->from, view->audit->to);
    char as_of[DAY_TEXT_SIZE];
    day_print(view->audit->as_of, as_of);
    print_wrapped(
        terminal, "", 0,
        text_print(arena, "%.*s, %.*s, as of %s", TEXT_FORMAT(audit_title(view->audit)), TEXT_FORMAT(period), as_of));
    output_print(terminal->output, "\n");
    print_wrapped(terminal, "", 0, phrase_verdict(arena, view));
    if (view->tests > view->vouched) {
        struct text share = phrase_vouched(arena, view);
        struct text interval = phrase_interval(arena, view->vouched, view->tests);
        print_wrapped(terminal, "", 0,
                      text_print(arena, "%.*s are vouched for (95 %% interval %.*s).", TEXT_FORMAT(share),
                                 TEXT_FORMAT(interval)));
    }
    print_wrapped(terminal, "", 0, phrase_findings(arena, view));
    struct text since = since_phrase(arena, view);
    if (since.data != NULL)
        print_wrapped(terminal, "", 0, since);
}

void report_terminal(const struct audit *audit, const char *report_folder, struct output *output)
{
    AUTO(view) view = view_new(audit, NULL);
    struct terminal terminal = {.output = output, .arena = view->arena, .view = view, .width = wrapped_width()};
    print_head(&terminal);
    print_worst(&terminal);
    output_print(output, "\n");
    print_missing(&terminal);
    print_silences(&terminal);
    print_set(&terminal);
    print_lost(&terminal, audit);
    output_print(output, "Report: %.*s/findings.html\n",
                 TEXT_FORMAT(utf8_shown(terminal.arena, text_of(report_folder))));
    print_wrapped(&terminal, "", 0,
                  TEXT("The package insert, state and local rules and the laboratory director decide. Affected results "
                       "need a clinical review before anyone acts."));
}
