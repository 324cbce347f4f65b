/* SPDX-License-Identifier: GPL-3.0-or-later */
/* manifest.txt of a report folder: the SHA-256 of each file, the store's chain head, and the hash of each rule file. Plain text,
 * so that an inspector can check it with sha256sum alone:
 *
 *     SHA256  findings.json
 *     chain HEAD
 *     rule SHA256 lots.expired */
#ifndef ASSIZE_REPORTS_MANIFEST_H
#define ASSIZE_REPORTS_MANIFEST_H

#include "findings/finding.h"

struct manifest_rule {
    const struct rule_text *rule;
    struct text id;
    const char *sha256;
};

/* Written aside and renamed, after all other files stand. */
bool manifest_write(const char *folder, const char *const *files, size_t count, const char *chain_head,
                    const struct manifest_rule *rules, size_t rule_count, struct fault *fault);

/* Of an older report in the folder removes the files that its manifest lists, but those in `keep`. */
void manifest_remove_old(const char *folder, const char *const *keep, size_t count);

/* Recomputes the manifest. *whole is false if a file is changed or gone: first_break says which. False only if it cannot be read. */
bool manifest_verify(const char *folder, bool *whole, char first_break[512], struct fault *fault);

#endif
