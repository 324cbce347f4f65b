/* SPDX-License-Identifier: GPL-3.0-or-later */
/* findings.csv, for spreadsheets: RFC 4180, one row a finding, lists joined by `;`.
 *
 * A spreadsheet takes a cell that starts with = + - @ (or a tab or CR before them) for a formula and runs it, also when
 * it came from somebody's log. Such cells get an apostrophe in front, which spreadsheets take for "this is text". So
 * this file is for people and is never read back; programs read findings.json, where every text is as recorded. Source:
 * OWASP, "CSV Injection". */
#include <inttypes.h>
#include <string.h>

#include "base/utf8.h"
#include "reports/reports.h"

struct row {
    struct output *output;
    struct arena *arena; /* for the texts of this row */
    bool begun;
};

static void cell(struct row *row, struct text value)
{
    value = utf8_mended(row->arena, value);
    if (value.size > 0 && memchr("=+-@\t\r", value.data[0], 6) != NULL)
        value = text_print(row->arena, "'%.*s", TEXT_FORMAT(value));
    csv_cell(row->output, !row->begun, value);
    row->begun = true;
}

static void end_row(struct row *row)
{
    csv_row_end(row->output);
    arena_reset(row->arena);
    row->begun = false;
}

static void number_cell(struct row *row, uint64_t number) { cell(row, text_print(row->arena, "%" PRIu64, number)); }

static void tests_cell(struct row *row, const struct finding *finding)
{
    AUTO(output) list = output_memory();
    for (size_t i = 0; i < finding->test_count; i++) {
        output_text(list, i > 0 ? TEXT(";") : TEXT(""));
        output_text(list, finding->tests[i]->test);
    }
    cell(row, output_taken(list));
}

static void basis_cell(struct row *row, const struct finding *finding)
{
    AUTO(output) list = output_memory();
    for (size_t i = 0; i < finding->rule->basis_count; i++) {
        output_text(list, i > 0 ? TEXT(";") : TEXT(""));
        output_text(list, finding->rule->basis[i]);
    }
    cell(row, output_taken(list));
}

static void evidence_cell(struct row *row, const struct finding *finding)
{
    AUTO(output) list = output_memory();
    for (size_t i = 0; i < finding->evidence_count; i++) {
        output_text(list, i > 0 ? TEXT(";") : TEXT(""));
        output_text(list, finding->evidence[i].file);
        output_print(list, ":%" PRIu32, finding->evidence[i].line);
    }
    cell(row, output_taken(list));
}

static void head_row(struct row *row)
{
    static const char *const before[] = {"finding", "rule", "title", "severity", "duty", "state", "site"};
    static const char *const after[] = {"from", "to",     "events", "tests",   "test_ids",
                                        "says", "remedy", "basis",  "evidence"};
    for (size_t i = 0; i < sizeof before / sizeof *before; i++)
        cell(row, text_of(before[i]));
    for (enum subject_field field = 0; field < SUBJECT_COUNT; field++)
        cell(row, text_of(subject_field_name(field)));
    for (size_t i = 0; i < sizeof after / sizeof *after; i++)
        cell(row, text_of(after[i]));
    end_row(row);
}

static void finding_row(struct row *row, const struct finding *finding)
{
    cell(row, text_of(finding->number));
    cell(row, finding->rule->id);
    cell(row, finding->rule->title);
    cell(row, text_of(severity_name(finding->severity)));
    cell(row, text_of(duty_name(finding->duty)));
    cell(row, text_of(finding_state_name(finding->state)));
    cell(row, finding->site);
    for (enum subject_field field = 0; field < SUBJECT_COUNT; field++)
        cell(row, finding->subject[field]);
    cell(row, finding->from);
    cell(row, finding->to);
    number_cell(row, finding->events);
    number_cell(row, finding->test_count);
    tests_cell(row, finding);
    cell(row, finding->says);
    cell(row, finding->rule->remedy);
    basis_cell(row, finding);
    evidence_cell(row, finding);
    end_row(row);
}

void report_csv(const struct audit *audit, struct output *output)
{
    AUTO(arena) arena = arena_new();
    struct row row = {.output = output, .arena = arena};
    head_row(&row);
    for (size_t i = 0; i < audit->finding_count; i++)
        finding_row(&row, &audit->findings[i]);
}
