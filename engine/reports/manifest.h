/* SPDX-License-Identifier: GPL-3.0-or-later */
/* manifest.txt of a report folder: the SHA-256 of each file, the chain head of the store that it was made from (of a
 * merged report those of all its stores, a line each, by bytes), and the hash of each rule file. Plain text, so that an
 * inspector can check it with sha256sum alone:
 *
 *     SHA256  findings.json
 *     chain HEAD
 *     rule SHA256 lots.expired */
#ifndef ASSIZE_REPORTS_MANIFEST_H
#define ASSIZE_REPORTS_MANIFEST_H

#include "base/digest.h"
#include "base/text.h"
#include "findings/finding.h"

struct manifest_rule {
    const struct rule_text *rule;
    struct text id;
    const char *sha256;
};

/* Written aside and renamed, after all other files stand. */
bool manifest_write(const char *folder, const char *const *files, size_t count, const struct text *chain_heads,
                    size_t chain_head_count, const struct manifest_rule *rules, size_t rule_count, struct fault *fault);

/* Adds the files in `folder` that are a report's own, and may be replaced and removed: those that the manifest in the
 * folder `listed_in` lists, with just the bytes that it gives the digest of, and manifest.txt. A file that is reached
 * by a link never is. There are none if there is no manifest, or one with other lines, without a chain or without
 * files: a list that somebody made of other files. False if a file cannot be read. */
bool manifest_own_files(const char *folder, const char *listed_in, struct names *own, struct fault *fault);

struct manifest_check {
    size_t files; /* that were checked */
    bool whole;
    char first_break[512]; /* the first file that is changed or gone, or line that is none of a manifest's */
};
/* Recomputes the manifest. False only if it cannot be read. */
bool manifest_verify(const char *folder, struct manifest_check *out, struct fault *fault);

/* The heads of the stores that the report was made from, in hex. */
typedef void manifest_head_function(void *context, const char *head);
bool manifest_heads(const char *folder, manifest_head_function *function, void *context, struct fault *fault);

/* The rules that a manifest names, in its order. The id borrows until the next one. */
typedef void manifest_rule_function(void *context, struct text id, const char *sha256);
bool manifest_rules(const char *folder, manifest_rule_function *function, void *context, struct fault *fault);

#endif
