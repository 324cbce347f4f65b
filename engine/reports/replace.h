/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Puts a report that was written aside in the place of the one before. Where the folder holds nothing but that one, and
 * the system can exchange two folders, this is a single step: at any moment the old report is there or the new one,
 * whole. Else the files get their names one by one, manifest.txt last, and a step that fails takes back those before;
 * where the process was killed between two steps, the next one does.
 *
 * Only what is a report's own is replaced or removed, as manifest_own_files tells. A report that somebody edited, or a
 * file from elsewhere that has a name of the new report's, is a fault that names it, and the old report stays; what has
 * other names stays in its place. */
#ifndef ASSIZE_REPORTS_REPLACE_H
#define ASSIZE_REPORTS_REPLACE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

/* `aside` is a folder inside `folder`, with `files` and manifest.txt; when this is done, also in failure, it is gone.
 */
bool report_replace(const char *folder, const char *aside, const char *const *files, size_t count, struct fault *fault);

/* Takes back what processes that were killed had begun to replace, and removes what they left in and beside `folder`.
 */
bool report_clean(const char *folder, struct fault *fault);

#endif
