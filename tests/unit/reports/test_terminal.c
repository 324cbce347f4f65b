/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "audits.h"
#include "base/utf8.h"
#include "reports/reports.h"

static void expect_printed(const struct audit *audit, const char *expected)
{
    AUTO(output) output = output_memory();
    report_terminal(audit, "reports/2026-10", output);
    struct text printed = output_taken(output);
    cr_expect(text_is(printed, expected), "%.*s", TEXT_FORMAT(printed));
}

Test(terminal, the_summary_tells_the_verdict_the_worst_and_what_was_not_judged)
{
    setenv("COLUMNS", "80", 1);
    AUTO(audit) audit = audit_small();
    expect_printed(audit, "Quarry Lane Family Practice, October 2026, as of 2026-10-31\n\n"
                          "41 of 412 patient results cannot be vouched for.\n"
                          "90.0 % are vouched for (95 % interval 86.7 to 92.6 %).\n"
                          "2 findings: 1 at-risk, 1 practice; 1 answered or excused.\n\n"
                          "The worst first:\n"
                          "  at-risk  14 results on A1 were run with code 27; lot K118 has code 31\n"
                          "           (F-GZPWR9QWFD, 2 affected results, records/tests.csv:105)\n"
                          "  practice =action CA-7 of <b>Ada & Bo</b> is \"overdue\" (F-0000000001,\n"
                          "           records/lots.csv:4)\n\n"
                          "Not judged: environment.range: no temperatures log\n"
                          "Switched off: comparison.schedule: first year, joins in January\n"
                          "Report: reports/2026-10/findings.html\n"
                          "The package insert, state and local rules and the laboratory director decide.\n"
                          "Affected results need a clinical review before anyone acts.\n");
}

Test(terminal, an_audit_that_found_nothing_says_so)
{
    setenv("COLUMNS", "80", 1);
    AUTO(audit) audit = audit_clean();
    expect_printed(audit, "Quarry Lane Family Practice, October 2026, as of 2026-10-31\n\n"
                          "All 412 patient results are vouched for.\n"
                          "No open findings.\n\n"
                          "Report: reports/2026-10/findings.html\n"
                          "The package insert, state and local rules and the laboratory director decide.\n"
                          "Affected results need a clinical review before anyone acts.\n");
}

static size_t widest_line(struct text printed)
{
    size_t widest = 0;
    while (printed.size > 0) {
        const char *end = memchr(printed.data, '\n', printed.size);
        size_t size = end != NULL ? (size_t)(end - printed.data) : printed.size, width;
        width = utf8_count((struct text){printed.data, size});
        widest = width > widest ? width : widest;
        printed = (struct text){printed.data + size + 1, printed.size - size - 1};
    }
    return widest;
}

Test(terminal, lines_keep_to_the_width_of_the_terminal)
{
    AUTO(audit) audit = audit_large(2, 12, 3);
    audit->findings[0].says = TEXT("élève à la fenêtre, où l’été dure à peine, déjà passé et très ébloui par là, "
                                   "où l’été dure à peine, déjà passé");
    for (int width = 50; width <= 200; width += 10) {
        char columns[16];
        snprintf(columns, sizeof columns, "%d", width);
        setenv("COLUMNS", columns, 1);
        AUTO(output) output = output_memory();
        report_terminal(audit, "out", output);
        size_t widest = widest_line(output_taken(output));
        cr_expect(widest <= (size_t)width && widest > (size_t)width / 2, "%zu at %d", widest, width);
    }
}

Test(terminal, a_width_that_makes_no_sense_is_eighty)
{
    static const char *const widths[] = {"", "x", "-1", "12", "100000"};
    AUTO(audit) audit = audit_small();
    setenv("COLUMNS", "80", 1);
    AUTO(output) expected = output_memory();
    report_terminal(audit, "out", expected);
    for (size_t i = 0; i < sizeof widths / sizeof *widths; i++) {
        setenv("COLUMNS", widths[i], 1);
        AUTO(output) output = output_memory();
        report_terminal(audit, "out", output);
        cr_expect(text_equal(output_taken(output), output_taken(expected)), "COLUMNS=%s", widths[i]);
    }
}

Test(terminal, what_a_log_holds_cannot_steer_the_terminal)
{
    setenv("COLUMNS", "80", 1);
    AUTO(audit) audit = audit_small();
    audit->findings[1].says = TEXT("\x1b[2Jgone\a and \xc2\x9b"
                                   "31m red");
    AUTO(output) output = output_memory();
    report_terminal(audit, "out", output);
    output_bytes(output, "", 1);
    const char *printed = output_taken(output).data;
    cr_expect_not_null(strstr(printed, "  at-risk  ?[2Jgone? and ?31m red (F-GZPWR9QWFD"), "%s", printed);
    cr_expect_null(strpbrk(printed, "\x1b\a"));
}

Test(terminal, sites_are_named_and_missing_ones_said)
{
    setenv("COLUMNS", "80", 1);
    AUTO(audit) audit = audit_large(2, 1, 0);
    audit->sites[1].missing = true;
    audit->sites[1].why = TEXT("sites/site-001/site.yaml:3: bad");
    AUTO(output) output = output_memory();
    report_terminal(audit, "out", output);
    output_bytes(output, "", 1);
    const char *printed = output_taken(output).data;
    cr_expect_not_null(strstr(printed, "  at-risk  site-000: 14 results on A1"), "%s", printed);
    cr_expect_not_null(strstr(printed, "\nNot audited: site-001: sites/site-001/site.yaml:3: bad\n"), "%s", printed);
    cr_expect_not_null(strstr(printed, "… and 12 more that were not judged or are off\n"), "%s", printed);
}
