/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Audits kept: what store_verify shares with the file that keeps them. */
#ifndef ASSIZE_STORE_AUDITS_H
#define ASSIZE_STORE_AUDITS_H

#include "store/chain.h"
#include "store/inside.h"

/* The digest of an audit's findings, and that of all audits, as the tables have them now. */
bool audit_digest(struct store *store, int64_t audit, unsigned char out[DIGEST_SIZE], struct fault *fault);
bool audits_digest(struct store *store, unsigned char out[DIGEST_SIZE], struct fault *fault);

#endif
