/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The summary that an audit prints: the verdict, the worst gaps first, what was not judged, where the report lies. */
#include <stdlib.h>
#include <string.h>

#include "reports/phrases.h"
#include "reports/reports.h"
#include "reports/view.h"

enum { WORST_SHOWN = 8, SILENCES_SHOWN = 6 };

static size_t line_width(void)
{
    const char *columns = getenv("COLUMNS");
    long width = columns ? strtol(columns, NULL, 10) : 0;
    return width >= 40 && width <= 200 ? (size_t)width : 80;
}

/* Prints words, wrapped; lines behind the first are indented. */
static void print_wrapped(struct output *output, struct text text, size_t indent)
{
    size_t width = line_width(), column = 0;
    const char *at = text.data, *end = text.data + text.size;
    while (at < end) {
        const char *blank = memchr(at, ' ', (size_t)(end - at));
        size_t size = (size_t)((blank ? blank : end) - at);
        if (column && column + 1 + size > width) {
            output_print(output, "\n%*s", (int)indent, "");
            column = indent;
        } else if (column) {
            output_print(output, " ");
            column++;
        }
        output_text(output, (struct text){at, size});
        column += size;
        at += size + 1;
    }
    output_print(output, "\n");
}

static void print_finding(struct output *output, struct arena *arena, const struct view *view,
                          const struct finding *finding)
{
    struct text site =
        audit_has_sites(view->audit) ? text_print(arena, " %.*s:", TEXT_FORMAT(finding->site)) : TEXT("");
    struct text touched = finding->test_count
                              ? text_print(arena, " Touches %.*s.",
                                           TEXT_FORMAT(phrase_count(arena, finding->test_count, "result", "results")))
                              : TEXT("");
    const struct record_place *place = finding->evidence_count ? finding->evidence : NULL;
    struct text where = place ? text_print(arena, " [%.*s:%u]", TEXT_FORMAT(place->file), place->line) : TEXT("");
    struct text line =
        text_print(arena, "  %-8s %s%.*s %.*s.%.*s%.*s", severity_name(finding->severity), finding->number,
                   TEXT_FORMAT(site), TEXT_FORMAT(finding->says), TEXT_FORMAT(touched), TEXT_FORMAT(where));
    output_print(output, "  ");
    print_wrapped(output, text_trim(line), 11);
}

static void print_silences(struct output *output, struct arena *arena, const struct view *view)
{
    for (size_t i = 0; i < view->silence_count && i < SILENCES_SHOWN; i++) {
        const struct silence *silence = &view->silences[i];
        print_wrapped(output,
                      text_print(arena, "%s: %.*s (%.*s)", judged_state_name(silence->state),
                                 TEXT_FORMAT(silence->rule->id), TEXT_FORMAT(silence->why)),
                      4);
    }
    if (view->silence_count > SILENCES_SHOWN)
        output_print(output, "… and %zu more that were not judged or are off; the report lists them\n",
                     view->silence_count - SILENCES_SHOWN);
}

static void print_missing(struct output *output, struct arena *arena, const struct audit *audit)
{
    for (size_t i = 0; i < audit->site_count; i++)
        if (audit->sites[i].missing)
            print_wrapped(output,
                          text_print(arena, "not audited: %.*s: %.*s", TEXT_FORMAT(audit->sites[i].site),
                                     TEXT_FORMAT(audit->sites[i].why)),
                          4);
}

void report_terminal(const struct audit *audit, const char *report_folder, struct output *output)
{
    AUTO(view) view = view_new(audit);
    AUTO(arena) arena = arena_new();
    char as_of[DAY_TEXT_SIZE];
    day_print(audit->as_of, as_of);
    output_print(output, "%.*s, %.*s, as of %s\n\n", TEXT_FORMAT(audit_title(audit)),
                 TEXT_FORMAT(phrase_period(arena, audit->from, audit->to)), as_of);
    print_wrapped(output, phrase_verdict(arena, view), 0);
    print_wrapped(output, phrase_findings(arena, view), 0);
    if (view->open_count)
        output_print(output, "\nThe worst first:\n");
    for (size_t i = 0; i < view->open_count && i < WORST_SHOWN; i++)
        print_finding(output, arena, view, view->worst[i]);
    if (view->open_count > WORST_SHOWN)
        output_print(output, "  … and %zu more; the report lists all\n", view->open_count - WORST_SHOWN);
    output_print(output, "\n");
    print_missing(output, arena, audit);
    print_silences(output, arena, view);
    output_print(output, "Report: %s/findings.html\n", report_folder);
    print_wrapped(output,
                  TEXT("The package insert, state and local rules and the laboratory director decide. Results named "
                       "here need a clinical review before anyone acts."),
                  0);
}
