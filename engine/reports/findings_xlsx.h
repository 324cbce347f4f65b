/* SPDX-License-Identifier: GPL-3.0-or-later */
/* findings.xlsx, for those who sort and filter: the findings, a row for each affected test, how each rule fared, and
 * what the audit was of. Dates are dates, counts are numbers, what records say is text. */
#ifndef ASSIZE_REPORTS_FINDINGS_XLSX_H
#define ASSIZE_REPORTS_FINDINGS_XLSX_H

#include "base/output.h"
#include "reports/view.h"

/* A sheet that would have more rows than `most_rows` (its head and a note with them) ends with a note that leads to
 * findings.csv and findings.json; WORKBOOK_ROWS is what the format can hold. */
bool findings_xlsx(const struct view *view, size_t most_rows, struct output *output, struct fault *fault);

#endif
