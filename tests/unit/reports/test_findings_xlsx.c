/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the workbook says is asked of another library, in tests/paper. */
#include <criterion/criterion.h>
#include <stdlib.h>

#include "audits.h"
#include "reports/findings_xlsx.h"
#include "reports/workbook.h"

static void write_book(const struct audit *audit, struct output *output)
{
    AUTO(view) view = view_new(audit, NULL);
    struct fault fault = {0};
    cr_expect(findings_xlsx(view, WORKBOOK_ROWS, output, &fault), "%s", fault.text);
}

Test(findings_xlsx, the_same_audit_gives_the_same_bytes_in_any_zone)
{
    AUTO(audit) audit = audit_small();
    AUTO(output) one = output_memory();
    AUTO(output) same = output_memory();
    write_book(audit, one);
    setenv("TZ", "Pacific/Kiritimati", 1);
    write_book(audit, same);
    cr_expect(text_starts(output_taken(one), "PK"));
    cr_expect(text_equal(output_taken(one), output_taken(same)));
}

Test(findings_xlsx, without_a_folder_for_its_making_it_is_a_fault)
{
    AUTO(audit) audit = audit_small();
    AUTO(view) view = view_new(audit, NULL);
    AUTO(output) output = output_memory();
    struct fault fault = {0};
    setenv("TMPDIR", "/nowhere", 1);
    cr_expect_not(findings_xlsx(view, WORKBOOK_ROWS, output, &fault));
    cr_expect_eq(fault.code, FAULT_FILE);
    cr_expect(text_starts(text_of(fault.text), "/nowhere/"), "%s", fault.text);
}
