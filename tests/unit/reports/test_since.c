/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "audits.h"
#include "reports/html.h"
#include "reports/since.h"

static struct earlier_finding closed[] = {{"F-CLOSED0001", TEXT("quarry-lane"), TEXT("lots.expired")}};
static struct earlier_finding gone[] = {{"F-GONE000001", TEXT("quarry-lane"), TEXT("lots.early")},
                                        {"F-GONE000002", TEXT("elsewhere"), TEXT("lots.early")}};

static struct earlier_finding lost[] = {{"F-LOST000001", TEXT("quarry-lane"), TEXT("lots.open-life")}};

static struct audit *audit_with_past(void)
{
    struct audit *audit = audit_small();
    day_number september = 0;
    cr_assert(day_parse(TEXT("2026-09-30"), &september, NULL));
    audit->closed = closed;
    audit->closed_count = 1;
    audit->gone = gone;
    audit->gone_count = 2;
    audit->lost = lost;
    audit->lost_count = 1;
    audit->closed_since = audit->gone_since = september;
    strcpy(audit->findings[0].returned, audit->findings[0].number);
    strcpy(audit->findings[1].returned, "F-OLD0000001");
    return audit;
}

Test(since, nothing_is_said_where_nothing_became_of_anything)
{
    AUTO(audit) audit = audit_small();
    AUTO(view) view = view_new(audit, NULL);
    AUTO(document) document = document_new(TEXT("Findings"));
    cr_expect_null(since_phrase(view->arena, view).data);
    page_since(document, view);
    cr_expect_null(document->root->first);
}

Test(since, what_was_closed_is_gone_or_came_back_is_counted)
{
    AUTO(audit) audit = audit_with_past();
    AUTO(view) view = view_new(audit, NULL);
    AUTO(view) alone = view_new(audit, &audit->sites[0]);
    cr_expect(text_is(since_phrase(view->arena, view),
                      "Since the audit as of 2026-09-30 1 finding was closed. Since the audit as of 2026-09-30 2 "
                      "findings are gone. 1 finding of an earlier audit of these days is not found any more. "
                      "2 findings came back after the action was closed."));
    cr_expect(text_is(since_phrase(alone->arena, alone),
                      "Since the audit as of 2026-09-30 1 finding was closed. Since the audit as of 2026-09-30 1 "
                      "finding is gone. 1 finding of an earlier audit of these days is not found any more. 2 "
                      "findings came back after the action was closed."));
}

Test(since, the_section_names_each_with_what_became_of_it)
{
    static const char *const parts[] = {"id=\"since\"",
                                        "F-CLOSED0001",
                                        "lots.expired",
                                        "Closed and verified; open as of 2026-09-30",
                                        "F-GONE000002",
                                        "found as of 2026-09-30",
                                        "F-LOST000001",
                                        "an earlier audit of these days found it",
                                        "Found again later than its action was closed",
                                        "Began after F-OLD0000001, of the same kind, was closed"};
    AUTO(audit) audit = audit_with_past();
    AUTO(view) view = view_new(audit, NULL);
    AUTO(document) document = document_new(TEXT("Findings"));
    AUTO(output) output = output_memory();
    page_since(document, view);
    html_write(document, output);
    output_bytes(output, "", 1);
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        cr_expect_not_null(strstr(output_taken(output).data, parts[i]), "%s", parts[i]);
}
