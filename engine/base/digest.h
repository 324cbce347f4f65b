/* SPDX-License-Identifier: GPL-3.0-or-later */
/* SHA-256 (FIPS 180-4), from libcrypto, which uses the processor's instructions; and Crockford's base 32 for short
 * numbers. */
#ifndef ASSIZE_BASE_DIGEST_H
#define ASSIZE_BASE_DIGEST_H

#include <stddef.h>
#include <stdint.h>

#include "base/memory.h"
#include "base/text.h"

enum { DIGEST_SIZE = 32, DIGEST_HEX_SIZE = 65 };

struct digest; /* a running digest */
struct digest *digest_new(void);
void digest_add(struct digest *digest, const void *bytes, size_t size);
void digest_end(struct digest *digest, unsigned char out[DIGEST_SIZE]);          /* and starts anew */
void digest_so_far(const struct digest *digest, unsigned char out[DIGEST_SIZE]); /* and goes on */
void digest_free(struct digest *digest);
OWNER(digest);

void digest_of(const void *bytes, size_t size, unsigned char out[DIGEST_SIZE]);
/* A file, or what else has a name, and its digest. */
struct named_digest {
    struct text name;
    char hex[DIGEST_HEX_SIZE];
};
/* By name, then digest, each once; returns how many are left. */
size_t named_digests_sort(struct named_digest *digests, size_t count);

void digest_hex(const unsigned char digest[DIGEST_SIZE], char out[DIGEST_HEX_SIZE]);

/* The first 50 bits as ten digits of Crockford's base 32, most significant first, and a NUL. */
void digest_base32(const unsigned char digest[DIGEST_SIZE], char out[11]);

#endif
