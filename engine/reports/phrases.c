/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/phrases.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "base/output.h"
#include "reports/reports.h"
#include "stats/intervals.h"

const char report_hashes[] =
    "manifest.txt in the folder of the report has the hash of each page and the head of each store’s hash chain.";

const char *const report_caution[] = {
    "This report compares the site's own records with rules. It makes no clinical conclusion, and a rule that is met "
    "does "
    "not prove that a result is right.",
    "The package insert of each test, state and local rules, the accreditor's standards and the laboratory director's "
    "decisions go before anything said here.",
    "Affected results need a clinical review before anyone acts on them: whether to repeat, correct or notify is "
    "decided by "
    "the laboratory director or a licensed practitioner.",
    "What is not in the records was not seen: a step that was done and not written down counts as not done.",
    NULL,
};

const char *severity_meaning(enum severity severity)
{
    static const char *const meanings[] = {
        "patient results may be wrong",
        "a binding requirement was not met",
        "good practice, an accreditor’s or the site’s own expectation was not met",
        "nothing is wrong yet",
    };
    return meanings[severity];
}

const char *duty_asker(enum duty duty)
{
    static const char *const askers[] = {"the law", "the package insert", "the site’s own policy", "the accreditor",
                                         "good practice"};
    return askers[duty];
}

struct text phrase_number(struct arena *arena, uint64_t number)
{
    if (number < 1000)
        return text_print(arena, "%" PRIu64, number);
    struct text thousands = phrase_number(arena, number / 1000);
    return text_print(arena, "%.*s,%03" PRIu64, TEXT_FORMAT(thousands), number % 1000);
}

struct text phrase_count(struct arena *arena, uint64_t number, const char *one, const char *many)
{
    struct text printed = phrase_number(arena, number);
    return text_print(arena, "%.*s %s", TEXT_FORMAT(printed), number == 1 ? one : many);
}

struct text phrase_share(struct arena *arena, uint64_t count, uint64_t total)
{
    if (total == 0)
        return TEXT("–");
    uint64_t thousandths = count / total * 1000 + count % total * 1000 / total;
    return text_print(arena, "%" PRIu64 ".%" PRIu64 " %%", thousandths / 10, thousandths % 10);
}

struct text phrase_vouched(struct arena *arena, const struct view *view)
{
    struct text share = phrase_share(arena, view->vouched, view->tests);
    return view->broke > 0 ? text_print(arena, "At most %.*s", TEXT_FORMAT(share)) : share;
}

struct text phrase_interval(struct arena *arena, uint64_t count, uint64_t total)
{
    if (total == 0)
        return TEXT("–");
    struct interval interval = wilson_interval(count, total);
    return text_print(arena, "%.1f to %.1f %%", floor(interval.low * 1000) / 10, ceil(interval.high * 1000) / 10);
}

struct text phrase_day(struct arena *arena, day_number day)
{
    char text[DAY_TEXT_SIZE];
    if (day == DAY_ABSENT)
        return TEXT("–");
    day_print(day, text);
    return text_keep(arena, text_of(text));
}

struct text phrase_period(struct arena *arena, day_number from, day_number to)
{
    static const char *const months[] = {"January", "February", "March",     "April",   "May",      "June",
                                         "July",    "August",   "September", "October", "November", "December"};
    struct civil first = day_civil(from), after = day_civil(to + 1);
    if (first.day == 1 && to + 1 == day_add_months(from, 1) && after.day == 1)
        return text_print(arena, "%s %d", months[first.month - 1], first.year);
    char from_text[DAY_TEXT_SIZE], to_text[DAY_TEXT_SIZE];
    day_print(from, from_text);
    day_print(to, to_text);
    return text_print(arena, "%s to %s", from_text, to_text);
}

struct text phrase_when(struct arena *arena, const struct finding *finding)
{
    enum { DATE = 10 }; /* "2026-10-07", and a blank behind it */
    struct text from = finding->from, to = finding->to;
    if (from.data == NULL || to.data == NULL || text_equal(from, to))
        return from.data != NULL ? from : to;
    if (from.size > DATE && to.size > DATE && memcmp(from.data, to.data, DATE) == 0)
        to = (struct text){to.data + DATE + 1, to.size - DATE - 1};
    return text_print(arena, "%.*s to %.*s", TEXT_FORMAT(from), TEXT_FORMAT(to));
}

struct text phrase_subject(struct arena *arena, const struct finding *finding)
{
    AUTO(output) list = output_memory();
    for (enum subject_field field = 0; field < SUBJECT_COUNT; field++) {
        if (finding->subject[field].data == NULL)
            continue;
        bool speaks_for_itself = field == SUBJECT_RECORD || field == SUBJECT_DETAIL;
        output_text(list, output_taken(list).size > 0 ? TEXT(", ") : TEXT(""));
        if (!speaks_for_itself)
            output_print(list, "%s ", subject_field_name(field));
        output_text(list, finding->subject[field]);
    }
    struct text taken = output_taken(list);
    return taken.size > 0 ? text_keep(arena, taken) : (struct text){NULL, 0};
}

/* One past the places from `first` on that are consecutive lines of one file. */
static size_t run_end(const struct finding *finding, size_t first)
{
    const struct record_place *places = finding->evidence;
    size_t end = first + 1;
    while (end < finding->evidence_count && places[end].line == places[end - 1].line + 1 &&
           text_equal(places[end].file, places[first].file))
        end++;
    return end;
}

static bool file_goes_on(const struct finding *finding, size_t next)
{
    return next < finding->evidence_count && text_equal(finding->evidence[next].file, finding->evidence[next - 1].file);
}

/* Nobody reads thousands of places, and pages take long to set them. */
struct text phrase_evidence(struct arena *arena, const struct finding *finding)
{
    enum { SHOWN_MOST = 100 };
    AUTO(output) list = output_memory();
    size_t shown = 0;
    for (size_t first = 0, end; first < finding->evidence_count; first = end) {
        if (shown++ == SHOWN_MOST) {
            output_print(list, "; and %zu more, in findings.csv", finding->evidence_count - first);
            break;
        }
        const struct record_place *place = &finding->evidence[first];
        end = run_end(finding, first);
        if (first > 0 && file_goes_on(finding, first))
            output_text(list, TEXT(", "));
        else {
            output_text(list, first > 0 ? TEXT("; ") : TEXT(""));
            output_text(list, place->file);
            output_text(list, end - first > 1 || file_goes_on(finding, end) ? TEXT(", lines ") : TEXT(", line "));
        }
        output_print(list, "%" PRIu32, place->line);
        if (end - first > 1)
            output_print(list, "%s%" PRIu32, end - first == 2 ? ", " : " to ", finding->evidence[end - 1].line);
    }
    struct text taken = output_taken(list);
    return taken.size > 0 ? text_keep(arena, taken) : (struct text){NULL, 0};
}

struct text phrase_sites(struct arena *arena, const struct rule_remark *remark)
{
    enum { NAMED = 3 };
    AUTO(output) list = output_memory();
    size_t named = remark->count <= NAMED + 1 ? remark->count : NAMED;
    for (size_t i = 0; i < named; i++) {
        output_text(list, i > 0 ? TEXT(", ") : TEXT(""));
        output_text(list, remark->at[i]->site);
    }
    if (named < remark->count)
        output_print(list, " and %zu more sites", remark->count - named);
    return text_keep(arena, output_taken(list));
}

struct text site_title(const struct site_result *site) { return site->name.size > 0 ? site->name : site->site; }

struct text audit_title(const struct audit *audit)
{
    if (audit->program_name.size > 0)
        return audit->program_name;
    if (audit->program.size > 0)
        return audit->program;
    return audit->site_count > 0 ? site_title(&audit->sites[0]) : TEXT("No site");
}

bool audit_has_sites(const struct audit *audit) { return audit->site_count > 1; }

struct text phrase_verdict(struct arena *arena, const struct view *view)
{
    if (view->audited == 0)
        return TEXT("No site could be audited.");
    if (view->tests == 0)
        return TEXT("There were no patient results in this period.");
    struct text in_doubt = phrase_number(arena, view->tests - view->vouched);
    struct text all = phrase_count(arena, view->tests, "patient result", "patient results");
    if (view->broke > 0 && view->vouched == view->tests)
        return text_print(arena, "No finding puts any of %.*s in doubt, but not all rules could be judged.",
                          TEXT_FORMAT(all));
    if (view->broke > 0) /* what the rules would have found that were not judged, nobody knows */
        return text_print(arena, "At least %.*s of %.*s cannot be vouched for; not all rules could be judged.",
                          TEXT_FORMAT(in_doubt), TEXT_FORMAT(all));
    if (view->vouched < view->tests)
        return text_print(arena, "%.*s of %.*s cannot be vouched for.", TEXT_FORMAT(in_doubt), TEXT_FORMAT(all));
    if (view->tests == 1)
        return TEXT("The one patient result is vouched for.");
    return text_print(arena, "All %.*s are vouched for.", TEXT_FORMAT(all));
}

static void severities(struct output *list, struct arena *arena, const struct view *view)
{
    const char *before = ": ";
    for (enum severity severity = 0; severity < SEVERITY_COUNT; severity++) {
        if (view->open[severity] == 0)
            continue;
        struct text count = phrase_number(arena, view->open[severity]);
        output_print(list, "%s%.*s %s", before, TEXT_FORMAT(count), severity_name(severity));
        before = ", ";
    }
}

struct text phrase_findings(struct arena *arena, const struct view *view)
{
    if (view->audited == 0)
        return TEXT("Nothing was judged.");
    AUTO(output) list = output_memory();
    output_text(list, view->open_count > 0 ? phrase_count(arena, view->open_count, "finding", "findings")
                                           : TEXT("No open findings"));
    severities(list, arena, view);
    if (view->apart_count > 0) {
        struct text count = phrase_number(arena, view->apart_count);
        output_print(list, "; %.*s answered or excused", TEXT_FORMAT(count));
    }
    output_text(list, TEXT("."));
    return text_keep(arena, output_taken(list));
}

struct text phrase_excuse(struct arena *arena, const struct finding *finding)
{
    size_t later = 0;
    if (!finding->went_on)
        return finding->excuse;
    for (size_t i = 0; i < finding->test_count; i++) {
        day_number day = finding_day(finding->tests[i]->performed_at);
        later += day != DAY_ABSENT && day > finding->excused_first;
    }
    struct text results = phrase_count(arena, later, "affected result is", "affected results are");
    return text_print(arena, "%.*s (It went on after the audit as of %.*s, the first to have it excused: %.*s later)",
                      TEXT_FORMAT(finding->excuse), TEXT_FORMAT(phrase_day(arena, finding->excused_first)),
                      TEXT_FORMAT(results));
}
