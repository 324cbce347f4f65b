/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/digest.h"

#include <openssl/evp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct digest {
    EVP_MD_CTX *context;
};

/* libcrypto refuses SHA-256 only when it cannot get memory or is set up to have none: no result could be trusted then.
 */
static void require(int succeeded)
{
    if (succeeded == 1)
        return;
    fputs("assize: libcrypto does not give SHA-256\n", stderr);
    _exit(2);
}

struct digest *digest_new(void)
{
    struct digest *digest = memory_new(sizeof *digest);
    digest->context = EVP_MD_CTX_new();
    require(digest->context != NULL);
    require(EVP_DigestInit_ex(digest->context, EVP_sha256(), NULL));
    return digest;
}

void digest_add(struct digest *digest, const void *bytes, size_t size)
{
    require(EVP_DigestUpdate(digest->context, bytes, size));
}

void digest_end(struct digest *digest, unsigned char out[DIGEST_SIZE])
{
    require(EVP_DigestFinal_ex(digest->context, out, NULL));
    require(EVP_DigestInit_ex(digest->context, NULL, NULL));
}

void digest_so_far(const struct digest *digest, unsigned char out[DIGEST_SIZE])
{
    AUTO(digest) copy = digest_new();
    require(EVP_MD_CTX_copy_ex(copy->context, digest->context));
    digest_end(copy, out);
}

void digest_free(struct digest *digest)
{
    if (digest == NULL)
        return;
    EVP_MD_CTX_free(digest->context);
    memory_free(digest);
}

void digest_of(const void *bytes, size_t size, unsigned char out[DIGEST_SIZE])
{
    require(EVP_Digest(bytes, size, out, NULL, EVP_sha256(), NULL));
}

void digest_hex(const unsigned char digest[DIGEST_SIZE], char out[DIGEST_HEX_SIZE])
{
    static const char figures[] = "0123456789abcdef";
    for (int i = 0; i < DIGEST_SIZE; i++) {
        *out++ = figures[digest[i] >> 4];
        *out++ = figures[digest[i] & 15];
    }
    *out = '\0';
}

void digest_base32(const unsigned char digest[DIGEST_SIZE], char out[11])
{
    static const char figures[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"; /* no I, L, O, U */
    uint64_t bits = 0;
    for (int i = 0; i < 7; i++)
        bits = bits << 8 | digest[i];
    bits >>= 6; /* 56 bits read, 50 wanted */
    for (int i = 9; i >= 0; i--, bits >>= 5)
        out[i] = figures[bits & 31];
    out[10] = '\0';
}

static int by_name_and_digest(const void *a, const void *b)
{
    const struct named_digest *x = a, *y = b;
    int order = text_compare(x->name, y->name);
    return order ? order : strcmp(x->hex, y->hex);
}

size_t named_digests_sort(struct named_digest *digests, size_t count)
{
    size_t left = 0;
    if (count > 0)
        qsort(digests, count, sizeof *digests, by_name_and_digest);
    for (size_t i = 0; i < count; i++)
        if (left == 0 || by_name_and_digest(&digests[left - 1], &digests[i]) != 0)
            digests[left++] = digests[i];
    return left;
}
