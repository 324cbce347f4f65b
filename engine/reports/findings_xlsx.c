/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/findings_xlsx.h"

#include <inttypes.h>
#include <string.h>

#include "base/digest.h"
#include "base/version.h"
#include "reports/phrases.h"
#include "reports/reports.h"
#include "reports/workbook.h"

struct sheets {
    const struct view *view;
    struct workbook *book;
    struct arena *arena; /* for the texts of a row */
    size_t rows, most;   /* of the sheet that is written, its head with them; how many it may have */
};

#define COUNT(array) (sizeof(array) / sizeof *(array))

static void end_row(struct sheets *sheets)
{
    workbook_row_end(sheets->book);
    arena_reset(sheets->arena);
    sheets->rows++;
}

/* Whether there is room for `more` rows; if not, a note is the last. */
static bool has_room(struct sheets *sheets, size_t more)
{
    if (sheets->rows + more <= sheets->most)
        return true;
    workbook_text(sheets->book, text_print(sheets->arena,
                                           "This sheet is full: it holds %zu rows. All are in findings.csv and "
                                           "findings.json.",
                                           sheets->most));
    end_row(sheets);
    return false;
}

static void begin_sheet(struct sheets *sheets, const char *name, const struct sheet_column *columns, size_t count)
{
    workbook_sheet(sheets->book, name, columns, count);
    sheets->rows = 1;
}

/* ---- findings -----------------------------------------------------------------------------------------------------
 */

static struct text joined_basis(struct arena *arena, const struct rule_text *rule)
{
    struct text joined = {NULL, 0};
    for (size_t i = 0; i < rule->basis_count; i++)
        joined =
            i == 0 ? rule->basis[0] : text_print(arena, "%.*s; %.*s", TEXT_FORMAT(joined), TEXT_FORMAT(rule->basis[i]));
    return joined;
}

static void finding_row(struct sheets *sheets, const struct finding *finding)
{
    struct workbook *book = sheets->book;
    workbook_strong(book, text_of(finding->number));
    workbook_text(book, text_of(severity_name(finding->severity)));
    workbook_text(book, text_of(finding_state_name(finding->state)));
    workbook_text(book, finding->site);
    workbook_text(book, finding->says);
    workbook_text(book, finding->rule->remedy);
    workbook_when(book, finding->from);
    workbook_when(book, finding->to);
    workbook_number(book, finding->events);
    workbook_number(book, finding->test_count);
    for (enum subject_field field = 0; field < SUBJECT_COUNT; field++)
        workbook_text(book, finding->subject[field]);
    workbook_text(book, finding->rule->id);
    workbook_text(book, finding->rule->title);
    workbook_text(book, text_of(duty_asker(finding->duty)));
    workbook_text(book, joined_basis(sheets->arena, finding->rule));
    workbook_text(book, phrase_evidence(sheets->arena, finding));
    workbook_text(book, phrase_excuse(sheets->arena, finding));
    end_row(sheets);
}

static void findings_sheet(struct sheets *sheets)
{
    static const struct sheet_column columns[] = {
        {"Finding", 15},
        {"Severity", 10},
        {"State", 10},
        {"Site", 16},
        {"What was found", 50},
        {"What to do", 50},
        {"From", 17},
        {"To", 17},
        {"Events", 8},
        {"Affected tests", 9},
        {"Method", 14},
        {"Analyzer", 12},
        {"Operator", 12},
        {"Lot", 12},
        {"Level", 10},
        {"Record", 14},
        {"Detail", 16},
        {"Rule", 24},
        {"Expected", 40},
        {"Asked by", 18},
        {"Basis", 28},
        {"Evidence", 40},
        {"Excused because", 30},
    };
    const struct view *view = sheets->view;
    begin_sheet(sheets, "Findings", columns, COUNT(columns));
    size_t all = view->open_count + view->apart_count;
    for (size_t i = 0; i < all; i++) {
        if (!has_room(sheets, i + 1 < all ? 2 : 1))
            break;
        finding_row(sheets, i < view->open_count ? view->worst[i] : view->apart[i - view->open_count]);
    }
    workbook_sheet_end(sheets->book);
}

/* ---- affected tests -----------------------------------------------------------------------------------------------
 */

static void test_row(struct sheets *sheets, const struct finding *finding, const struct affected_test *test)
{
    struct workbook *book = sheets->book;
    workbook_strong(book, text_of(finding->number));
    workbook_text(book, text_of(severity_name(finding->severity)));
    workbook_text(book, finding->site);
    workbook_text(book, test->test);
    workbook_when(book, test->performed_at);
    workbook_text(book, test->specimen);
    workbook_text(book, test->result);
    workbook_text(book, test->method);
    workbook_text(book, test->analyzer);
    workbook_text(book, test->operator_);
    workbook_text(book, test->place.file);
    workbook_number(book, test->place.line);
    end_row(sheets);
}

/* All tests of a finding; false when the sheet is full. `left`: tests from here on, in all findings. */
static bool test_rows(struct sheets *sheets, const struct finding *finding, uint64_t *left)
{
    for (size_t i = 0; i < finding->test_count; i++, --*left) {
        if (!has_room(sheets, *left > 1 ? 2 : 1))
            return false;
        test_row(sheets, finding, finding->tests[i]);
    }
    return true;
}

static void tests_sheet(struct sheets *sheets)
{
    static const struct sheet_column columns[] = {
        {"Finding", 15}, {"Severity", 10}, {"Site", 16},     {"Test", 16},     {"Performed at", 19}, {"Specimen", 16},
        {"Result", 12},  {"Method", 16},   {"Analyzer", 12}, {"Operator", 12}, {"File", 30},         {"Line", 9},
    };
    const struct view *view = sheets->view;
    uint64_t left = 0;
    for (size_t i = 0; i < view->open_count; i++)
        left += view->worst[i]->test_count;
    for (size_t i = 0; i < view->apart_count; i++)
        left += view->apart[i]->test_count;
    begin_sheet(sheets, "Affected tests", columns, COUNT(columns));
    bool has_more = true;
    for (size_t i = 0; has_more && i < view->open_count; i++)
        has_more = test_rows(sheets, view->worst[i], &left);
    for (size_t i = 0; has_more && i < view->apart_count; i++)
        has_more = test_rows(sheets, view->apart[i], &left);
    workbook_sheet_end(sheets->book);
}

/* ---- rules --------------------------------------------------------------------------------------------------------
 */

static void rules_sheet(struct sheets *sheets)
{
    static const struct sheet_column columns[] = {
        {"Rule", 28},  {"Expected", 50}, {"Site", 16},    {"State", 12},    {"Why", 50},
        {"Judged", 9}, {"Met", 9},       {"Findings", 9}, {"Severity", 10},
    };
    const struct audit *audit = sheets->view->audit;
    begin_sheet(sheets, "Rules", columns, COUNT(columns));
    for (size_t i = 0; i < audit->rule_count; i++) {
        const struct rule_at_site *rule = &audit->rules[i];
        if (!has_room(sheets, i + 1 < audit->rule_count ? 2 : 1))
            break;
        workbook_strong(sheets->book, rule->rule->id);
        workbook_text(sheets->book, rule->rule->title);
        workbook_text(sheets->book, rule->site);
        workbook_text(sheets->book, text_of(judged_state_name(rule->state)));
        workbook_text(sheets->book, rule->why);
        workbook_number(sheets->book, rule->judged);
        workbook_number(sheets->book, rule->met);
        workbook_number(sheets->book, rule->findings);
        workbook_text(sheets->book, text_of(severity_name(rule->rule->severity)));
        end_row(sheets);
    }
    workbook_sheet_end(sheets->book);
}

/* ---- about --------------------------------------------------------------------------------------------------------
 */

static void about_text(struct sheets *sheets, const char *what, struct text text)
{
    workbook_strong(sheets->book, text_of(what));
    workbook_text(sheets->book, text);
    end_row(sheets);
}

static void about_day(struct sheets *sheets, const char *what, day_number day)
{
    workbook_strong(sheets->book, text_of(what));
    workbook_day(sheets->book, day);
    end_row(sheets);
}

static void about_number(struct sheets *sheets, const char *what, uint64_t number)
{
    workbook_strong(sheets->book, text_of(what));
    workbook_number(sheets->book, number);
    end_row(sheets);
}

static void about_silences(struct sheets *sheets)
{
    const struct view *view = sheets->view;
    for (size_t i = 0; i < view->silence_count; i++) {
        const struct rule_remark *silence = &view->silences[i];
        struct text sites = phrase_sites(sheets->arena, silence);
        about_text(sheets, silence->state == RULE_OFF ? "Switched off" : "Not judged",
                   text_print(sheets->arena, "%.*s: %.*s (%.*s)", TEXT_FORMAT(silence->rule->id),
                              TEXT_FORMAT(silence->why), TEXT_FORMAT(sites)));
    }
    for (size_t i = 0; i < view->set_count; i++)
        about_text(sheets, "Set by policy",
                   text_print(sheets->arena, "%.*s: %.*s (%.*s)", TEXT_FORMAT(view->set[i].rule->id),
                              TEXT_FORMAT(view->set[i].why), TEXT_FORMAT(phrase_sites(sheets->arena, &view->set[i]))));
    for (size_t i = 0; i < view->audit->site_count; i++) {
        const struct site_result *site = &view->audit->sites[i];
        if (site->missing)
            about_text(sheets, "Not audited",
                       text_print(sheets->arena, "%.*s: %.*s", TEXT_FORMAT(site->site), TEXT_FORMAT(site->why)));
    }
    for (size_t i = 0; i < view->audit->warning_count; i++)
        about_text(sheets, "Warning", view->audit->warnings[i]);
}

static void about_sheet(struct sheets *sheets)
{
    static const struct sheet_column columns[] = {{"About", 28}, {"", 100}};
    const struct view *view = sheets->view;
    const struct audit *audit = view->audit;
    begin_sheet(sheets, "About", columns, COUNT(columns));
    about_text(sheets, "Audit of", audit_title(audit));
    about_day(sheets, "First day", audit->from);
    about_day(sheets, "Last day", audit->to);
    about_day(sheets, "As the records stood on", audit->as_of);
    about_number(sheets, "Sites audited", view->audited);
    about_number(sheets, "Patient results", view->tests);
    about_number(sheets, "Vouched for", view->vouched);
    about_number(sheets, "Controls", view->controls);
    about_text(sheets, "In short", phrase_verdict(sheets->arena, view));
    about_text(sheets, "Findings", phrase_findings(sheets->arena, view));
    about_silences(sheets);
    for (size_t i = 0; report_caution[i] != NULL; i++)
        about_text(sheets, "Before anyone acts", text_of(report_caution[i]));
    about_text(sheets, "Made by", TEXT("assize " ASSIZE_VERSION));
    about_text(sheets, "Hashes", text_of(report_hashes));
}

static bool write_once(const struct view *view, size_t most_rows, struct output *output, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    AUTO(workbook) book = NULL;
    struct text period = phrase_period(arena, view->audit->from, view->audit->to);
    struct text title = text_print(arena, "Findings, %.*s", TEXT_FORMAT(period));
    if (!workbook_begin(&book, view->audit->as_of, text_string(arena, title), fault))
        return false;
    struct sheets sheets = {.view = view, .book = book, .arena = arena, .most = most_rows};
    findings_sheet(&sheets);
    tests_sheet(&sheets);
    rules_sheet(&sheets);
    about_sheet(&sheets);
    return workbook_write(book, output, fault);
}

/* The library says nothing of a failed write to the files of its own in which sheets wait: a workbook that lost
 * something so is not the same when it is made again. */
bool findings_xlsx(const struct view *view, size_t most_rows, struct output *output, struct fault *fault)
{
    unsigned char sums[2][DIGEST_SIZE];
    for (int i = 0; i < 2; i++) {
        AUTO(output) book = output_memory();
        if (!write_once(view, most_rows, book, fault))
            return false;
        struct text bytes = output_taken(book);
        digest_of(bytes.data, bytes.size, sums[i]);
        if (i == 1 && memcmp(sums[0], sums[1], DIGEST_SIZE) == 0)
            output_text(output, bytes);
    }
    return memcmp(sums[0], sums[1], DIGEST_SIZE) == 0 ||
           fault_set(fault, FAULT_FILE,
                     "findings.xlsx: made twice, it was not the same: the folder of temporary files fails");
}
