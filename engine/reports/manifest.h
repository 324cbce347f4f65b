/* SPDX-License-Identifier: GPL-3.0-or-later */
/* manifest.txt of a report folder: the SHA-256 of each file, the chain head of the store that it was made from (of a
 * merged report those of all its stores, a line each, by bytes), and the hashes of the rule files and of the settings
 * that it was judged by. Plain text, so that an inspector can check it with sha256sum alone:
 *
 *     SHA256  findings.json
 *     chain HEAD
 *     rule SHA256 lots.expired
 *     settings SHA256 methods/hba1c-strip.yaml */
#ifndef ASSIZE_REPORTS_MANIFEST_H
#define ASSIZE_REPORTS_MANIFEST_H

#include <stdbool.h>

#include "base/digest.h"
#include "base/fault.h"
#include "base/text.h"

enum manifest_source { MANIFEST_RULE, MANIFEST_SETTINGS, MANIFEST_SOURCE_COUNT };

struct manifest_contents {
    const char *const *files;
    size_t file_count;
    const struct text *chain_heads;
    size_t chain_head_count;
    struct { /* by id or path */
        const struct named_digest *digests;
        size_t count;
    } sources[MANIFEST_SOURCE_COUNT];
};

/* Written aside and renamed, after all other files stand. */
bool manifest_write(const char *folder, const struct manifest_contents *contents, struct fault *fault);

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

/* The rules or settings that a manifest names, in its order; they borrow until the next one. */
typedef void manifest_source_function(void *context, const struct named_digest *digest);
bool manifest_sources(const char *folder, enum manifest_source source, manifest_source_function *function,
                      void *context, struct fault *fault);

#endif
