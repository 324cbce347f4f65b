/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The corrective actions of a site as its logs have them, and the one place that writes to a log.
 *
 * A change is written to a copy in the same folder, synced and renamed, so that a reader sees the old file or the new
 * one; the file keeps its permissions. Symbolic links and write-protected files are refused, and so is a file that
 * somebody else changed since it was read. The caller holds the store's lock. */
#ifndef ASSIZE_INTAKE_ACTIONS_LOG_H
#define ASSIZE_INTAKE_ACTIONS_LOG_H

#include "base/calendar.h"
#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"
#include "intake/folder.h"
#include "intake/log_edit.h"

struct logged_action {
    struct text action, finding, taken, owner, verified_by; /* absent where empty */
    day_number opened_on, closed_on;                        /* DAY_ABSENT */
    const char *file;                                       /* relative to the site folder */
    uint32_t line;
};

struct actions_log;

/* Reads all files of the kind `actions`; one that is refused as a whole is a fault. `site` is borrowed. */
bool actions_log_read(struct actions_log **out, const struct site_place *site, struct fault *fault);
void actions_log_free(struct actions_log *log);
OWNER(actions_log);

/* In the order of files and lines; rows that a load would refuse are left out. Owned by the log. */
const struct logged_action *actions_log_rows(const struct actions_log *log, size_t *count);

/* An id that must not be given again though no row has it: of an action that was taken out of the log. */
void actions_log_reserve(struct actions_log *log, struct text action);
/* The id for a new action: the number that follows in the log's own numbering ("AC-7", "2026-014"), as its last row has
 * it; "CA-1" where there is none. Lives as long as the log. */
struct text actions_log_next(const struct actions_log *log);

/* A new row, in the only file; of several in records/actions.csv, which is made if it is not there. *file is where it
 * went; it lives as long as the log. */
bool actions_log_add(struct actions_log *log, const struct edit_cell *cells, size_t count, const char **file,
                     struct fault *fault);
/* Cells of a row. */
bool actions_log_change(struct actions_log *log, const struct logged_action *action, const struct edit_cell *cells,
                        size_t count, struct fault *fault);

#endif
