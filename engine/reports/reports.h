/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report folder: one table of formats, one file a format. Each writer gets the same audit and lays it out; it
 * decides nothing. Texts from records are escaped by the writers' lowest functions. The same audit gives the same
 * bytes. */
#ifndef ASSIZE_REPORTS_REPORTS_H
#define ASSIZE_REPORTS_REPORTS_H

#include "base/fault.h"
#include "base/output.h"
#include "findings/finding.h"

struct report_format {
    const char *file; /* "findings.json" */
    void (*write)(const struct audit *audit, struct output *output);
};
extern const struct report_format report_formats[]; /* file == NULL at its end */

void report_json(const struct audit *audit, struct output *output);
void report_csv(const struct audit *audit, struct output *output);
void report_html(const struct audit *audit, struct output *output);
void report_terminal(const struct audit *audit, const char *report_folder, struct output *output);

/* Writes all formats into `folder` (made with its parents), each aside and renamed, manifest.txt last. */
bool reports_write(const struct audit *audit, const char *folder, struct fault *fault);

/* What every report says: period and as-of, what was not judged or off, and the caution. Shared sentences. */
extern const char *const report_caution[]; /* NULL at its end */

#endif
