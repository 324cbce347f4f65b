/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>

#include "audits.h"
#include "reports/reports.h"

/* Quoting after RFC 4180, section 2. */
static const char small_csv[] =
    "finding,rule,title,severity,duty,state,site,method,analyzer,operator,lot,level,record,detail,from,to,events,tests,"
    "test_ids,says,remedy,basis,evidence\r\n"
    "F-0000000001,actions.overdue,Actions are closed in time,practice,practice,known,quarry-lane,,,,,,CA-7,,,,1,0,,"
    "\"'=action CA-7 of <b>Ada & Bo</b> is \"\"overdue\"\"\",Close the action or give it a new "
    "day.,,records/lots.csv:4\r\n"
    "F-GZPWR9QWFD,lots.code-match,The code in the analyzer is the lot's,at-risk,insert,new,quarry-lane,,A1,,,,,,"
    "2026-10-07 09:12,2026-10-07 16:40,14,2,T-0104;T-0105,"
    "14 results on A1 were run with code 27; lot K118 has code 31,"
    "Insert the chip of the lot. Review the results listed.,42 CFR 493.15(e)(1),"
    "records/tests.csv:105;records/tests.csv:106;records/tests.csv:107;records/tests.csv:110;records/lots.csv:4\r\n"
    "F-0000000002,lots.code-match,The code in the analyzer is the lot's,at-risk,insert,excused,quarry-lane,,A2,,,,,,"
    "2026-10-08,2026-10-09,2,1,T-0104,2 results on A2,Insert the chip of the lot. Review the results listed.,"
    "42 CFR 493.15(e)(1),\r\n";

Test(findings_csv, a_finding_is_a_row_with_lists_joined)
{
    AUTO(audit) audit = audit_small();
    AUTO(output) output = output_memory();
    report_csv(audit, output);
    struct text written = output_taken(output);
    cr_expect(text_is(written, small_csv), "%.*s", TEXT_FORMAT(written));
}

Test(findings_csv, a_cell_that_a_spreadsheet_would_run_gets_an_apostrophe)
{
    static const char *const starts[] = {"=", "+", "-", "@", "\t", "\r"};
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
        AUTO(audit) audit = audit_small();
        audit->finding_count = 1;
        audit->findings[0].says = TEXT("kept");
        audit->findings[0].subject[SUBJECT_RECORD] = text_print(audit->arena, "%s1+1", starts[i]);
        AUTO(output) output = output_memory();
        report_csv(audit, output);
        struct text written = output_taken(output);
        struct text quoted = text_print(audit->arena, ",\"'%s1+1\",", starts[i]);
        struct text plain = text_print(audit->arena, ",'%s1+1,", starts[i]);
        bool found = false;
        for (size_t at = 0; at + quoted.size <= written.size && !found; at++) {
            struct text here = {written.data + at, written.size - at};
            found = text_starts(here, quoted.data) || text_starts(here, plain.data);
        }
        cr_expect(found, "start %zu: %.*s", i, TEXT_FORMAT(written));
    }
}
