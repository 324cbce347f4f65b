/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Audits kept: what store_verify shares with the file that keeps them. */
#ifndef ASSIZE_STORE_AUDITS_H
#define ASSIZE_STORE_AUDITS_H

#include "store/chain.h"
#include "store/inside.h"

/* The digest of an audit's findings, and that of all audits, as the tables have them now. */
bool audit_digest(struct store *store, int64_t audit, unsigned char out[DIGEST_SIZE], struct fault *fault);
bool audits_digest(struct store *store, unsigned char out[DIGEST_SIZE], struct fault *fault);

/* ---- audit_sums.c: the sums of an audit's sites ---- */

/* *any: there are some; without, there is no digest (as in audits of schema 1). */
bool audit_sums_digest(struct store *store, int64_t audit, unsigned char out[DIGEST_SIZE], bool *any,
                       struct fault *fault);
bool audit_sums_put(struct store *store, int64_t audit, const struct audit_sum *sums, size_t count,
                    struct fault *fault);
bool audit_sums_remove(struct store *store, int64_t audit, struct fault *fault);
/* Rows of audits that are not there. */
bool audit_sums_strays(struct store *store, int64_t *out, struct fault *fault);

#endif
