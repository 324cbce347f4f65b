/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Puts a report that was written aside in the place of the one before. Where the folder holds nothing but that one, and
 * the system can exchange two folders, this is a single step: at any moment the old report is there or the new one,
 * whole. Else the files get their names one by one, manifest.txt last, and a step that fails takes back those before.
 */
#ifndef ASSIZE_REPORTS_REPLACE_H
#define ASSIZE_REPORTS_REPLACE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

/* `aside` is a folder inside `folder`, with `files` and manifest.txt; what is left of it when this is done, also in
 * failure, is gone. Of the old report only what its manifest lists is removed. */
bool report_replace(const char *folder, const char *aside, const char *const *files, size_t count, struct fault *fault);

/* Removes what processes that were killed left of their reports in and beside `folder`. */
void report_clean(const char *folder);

#endif
