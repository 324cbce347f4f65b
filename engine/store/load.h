/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Loading: the logs of a folder into the store, in one transaction: all of it or none.
 *
 * A file whose content is unchanged is not parsed again, of one that only grew what was added to it. A row that is new
 * is added; a known key with other values amends the record; a row that is gone withdraws it; a row that is still there
 * but refused withdraws nothing: the last good version counts. The same row twice is loaded once; one key with
 * different values in one load: all rows of that key are refused. Each load that takes anything extends the chain:
 * SHA-256 over the head before it and the rows taken.
 */
#ifndef ASSIZE_STORE_LOAD_H
#define ASSIZE_STORE_LOAD_H

#include "base/progress.h"
#include "store/store.h"

struct load_counts {
    uint64_t read; /* rows standing in the logs, whether parsed in this load or known from the one before */
    uint64_t added, amended, withdrawn, refused;
    uint64_t filled;   /* cells that were empty were filled: a new version, no amendment */
    uint64_t repeated; /* the same row once more: loaded once */
    uint64_t files, files_unchanged;
};

struct load_report {
    struct load_counts kinds[KIND_COUNT];
    uint64_t refused_files; /* refused as a whole, whatever their kind */
    /* Lines for people, complete, in the order of site, path and line; owned by the report. */
    char **refusals; /* "SITE: records/tests.csv:14: result: …: reason" (no site in front where there is only one) */
    size_t refusal_count;
    char **warnings; /* unknown columns, repeated rows, files passed over … */
    size_t warning_count;
    day_number day; /* that it counts as of: today, or the last load's, where that is later */
    char head[DIGEST_HEX_SIZE];
};

struct load_site { /* a site to be loaded, with its name as site.yaml says */
    struct text site;
    const struct site_place *place;
};

/* `today` is the day of the load. On failure, or when the progress stops it, the store is as before. */
bool store_load(struct store *store, const struct load_site *sites, size_t site_count, day_number today,
                const struct progress *progress, struct load_report **out, struct fault *fault);
void load_report_free(struct load_report *report);
OWNER(load_report);

#endif
