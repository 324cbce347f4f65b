/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <string.h>

#include "audits.h"
#include "reports/reports.h"

static const char small_json[] =
    "{\n"
    "  \"format\": \"assize-findings/1\",\n"
    "  \"period\": {\"from\": \"2026-10-01\", \"to\": \"2026-10-31\"},\n"
    "  \"as_of\": \"2026-10-31\",\n"
    "  \"sites\": [\n"
    "    {\"site\": \"quarry-lane\", \"tests\": 412, \"controls\": 66, \"tests_vouched\": 371}\n"
    "  ],\n"
    "  \"rules\": [\n"
    "    {\"rule\": \"actions.overdue\", \"site\": \"quarry-lane\", \"judged\": 3, \"met\": 2, \"findings\": 1, "
    "\"state\": \"judged\"},\n"
    "    {\"rule\": \"comparison.schedule\", \"site\": \"quarry-lane\", \"judged\": 0, \"met\": 0, \"findings\": 0, "
    "\"state\": \"off\", \"why\": \"first year, joins in January\"},\n"
    "    {\"rule\": \"environment.range\", \"site\": \"quarry-lane\", \"judged\": 0, \"met\": 0, \"findings\": 0, "
    "\"state\": \"not judged\", \"why\": \"no temperatures log\"},\n"
    "    {\"rule\": \"lots.code-match\", \"site\": \"quarry-lane\", \"judged\": 412, \"met\": 396, \"findings\": 2, "
    "\"state\": \"judged\"},\n"
    "    {\"rule\": \"people.known\", \"site\": \"quarry-lane\", \"judged\": 478, \"met\": 478, \"findings\": 0, "
    "\"state\": \"judged\"}\n"
    "  ],\n"
    "  \"findings\": [\n"
    "    {\n"
    "      \"finding\": \"F-0000000001\",\n"
    "      \"rule\": \"actions.overdue\",\n"
    "      \"severity\": \"practice\",\n"
    "      \"duty\": \"practice\",\n"
    "      \"state\": \"known\",\n"
    "      \"site\": \"quarry-lane\",\n"
    "      \"method\": null,\n"
    "      \"analyzer\": null,\n"
    "      \"operator\": null,\n"
    "      \"lot\": null,\n"
    "      \"level\": null,\n"
    "      \"record\": \"CA-7\",\n"
    "      \"detail\": null,\n"
    "      \"from\": null,\n"
    "      \"to\": null,\n"
    "      \"events\": 1,\n"
    "      \"tests\": [],\n"
    "      \"says\": \"=action CA-7 of <b>Ada & Bo</b> is \\\"overdue\\\"\",\n"
    "      \"remedy\": \"Close the action or give it a new day.\",\n"
    "      \"basis\": [],\n"
    "      \"evidence\": [\n"
    "        {\"file\": \"records/lots.csv\", \"line\": 4}\n"
    "      ]\n"
    "    },\n"
    "    {\n"
    "      \"finding\": \"F-GZPWR9QWFD\",\n"
    "      \"rule\": \"lots.code-match\",\n"
    "      \"severity\": \"at-risk\",\n"
    "      \"duty\": \"insert\",\n"
    "      \"state\": \"new\",\n"
    "      \"site\": \"quarry-lane\",\n"
    "      \"method\": null,\n"
    "      \"analyzer\": \"A1\",\n"
    "      \"operator\": null,\n"
    "      \"lot\": null,\n"
    "      \"level\": null,\n"
    "      \"record\": null,\n"
    "      \"detail\": null,\n"
    "      \"from\": \"2026-10-07 09:12\",\n"
    "      \"to\": \"2026-10-07 16:40\",\n"
    "      \"events\": 14,\n"
    "      \"tests\": [\"T-0104\", \"T-0105\"],\n"
    "      \"says\": \"14 results on A1 were run with code 27; lot K118 has code 31\",\n"
    "      \"remedy\": \"Insert the chip of the lot. Review the results listed.\",\n"
    "      \"basis\": [\"42 CFR 493.15(e)(1)\"],\n"
    "      \"evidence\": [\n"
    "        {\"file\": \"records/tests.csv\", \"line\": 105},\n"
    "        {\"file\": \"records/tests.csv\", \"line\": 106},\n"
    "        {\"file\": \"records/tests.csv\", \"line\": 107},\n"
    "        {\"file\": \"records/tests.csv\", \"line\": 110},\n"
    "        {\"file\": \"records/lots.csv\", \"line\": 4}\n"
    "      ]\n"
    "    },\n";

Test(findings_json, every_field_stands_in_its_order_with_null_where_it_does_not_apply)
{
    AUTO(audit) audit = audit_small();
    AUTO(output) output = output_memory();
    report_json(audit, output);
    struct text written = output_taken(output);
    cr_expect(text_starts(written, small_json), "%.*s", TEXT_FORMAT(written));
}

static bool holds(struct output *output, const char *wanted)
{
    output_bytes(output, "", 1); /* ends the string */
    return strstr(output_taken(output).data, wanted) != NULL;
}

Test(findings_json, a_site_that_was_not_audited_is_listed_as_missing_and_nowhere_else)
{
    AUTO(audit) audit = audit_large(2, 0, 0);
    audit->sites[1].missing = true;
    audit->sites[1].why = TEXT("sites/site-001/site.yaml:3: day_starts_at: 25:00: no time of day");
    AUTO(output) output = output_memory();
    report_json(audit, output);
    cr_expect(holds(output, "  \"sites\": [\n"
                            "    {\"site\": \"site-000\", \"tests\": 412, \"controls\": 66, \"tests_vouched\": 371}\n"
                            "  ],\n"
                            "  \"missing\": [\n"
                            "    {\"site\": \"site-001\", \"why\": "
                            "\"sites/site-001/site.yaml:3: day_starts_at: 25:00: no time of day\"}\n"
                            "  ],\n"));
}
