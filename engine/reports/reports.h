/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report folder: two tables of formats, one file a format. Each writer gets the same view and lays it out; it
 * decides nothing. Texts from records are escaped by the writers' lowest functions. The same audit gives the same
 * bytes. */
#ifndef ASSIZE_REPORTS_REPORTS_H
#define ASSIZE_REPORTS_REPORTS_H

#include "base/fault.h"
#include "base/output.h"
#include "base/progress.h"
#include "reports/view.h"

struct report_format {
    const char *file; /* "findings.json"; of a site's page its name in the site's own folder */
    bool (*write)(const struct view *view, struct output *output, struct fault *fault);
};
extern const struct report_format audit_formats[]; /* of a view of all sites; file == NULL at its end */
extern const struct report_format site_formats[];  /* of a view of one site, that of a missing site too; likewise */

void report_json(const struct audit *audit, struct output *output);
void report_csv(const struct audit *audit, struct output *output);
void report_terminal(const struct audit *audit, const char *report_folder, struct output *output);

/* Writes all formats into `folder` (made with its parents), a site's into a folder of its name there, `threads` files
 * side by side. All of them are written aside first, in a folder inside it; only when they are whole and the progress
 * (which may be NULL) has not stopped it do they replace the report before, as replace.h tells. */
bool reports_write(const struct audit *audit, const char *folder, size_t threads, const struct progress *progress,
                   struct fault *fault);

/* A site's id as the name of its folder: what could lead elsewhere, or would be a file of the report, is written as
 * %XX; what would be too long is cut, and ends with a part of its digest. */
struct text report_site_folder(struct arena *arena, struct text site);
struct text report_site_page(struct arena *arena, const struct site_result *site, const char *file); /* its path */

/* What every report says: period and as-of, what was not judged or off, and the caution. Shared sentences. */
extern const char *const report_caution[]; /* NULL at its end */
extern const char report_hashes[];         /* where the hashes stand that bind a report folder to its stores */

#endif
