/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <string.h>

#include "base/digest.h"

/* Source: NIST, "Examples with Intermediate Values", SHA-256 of FIPS 180-4 (one and two blocks), and the Cryptographic
 * Algorithm Validation Program's byte-oriented vectors for the empty message; a million "a": FIPS 180-2, appendix B.3.
 */
static const struct {
    const char *message, *digest;
} vectors[] = {
    {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
    {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
    {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
     "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
};
static const char million_a[] = "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0";

Test(digest, nists_examples_give_their_digests)
{
    AUTO(digest) running = digest_new();
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        unsigned char digest[DIGEST_SIZE];
        char hex[DIGEST_HEX_SIZE];
        size_t size = strlen(vectors[i].message);
        digest_of(vectors[i].message, size, digest);
        digest_hex(digest, hex);
        cr_expect_str_eq(hex, vectors[i].digest, "%s", vectors[i].message);

        for (size_t byte = 0; byte < size; byte++)
            digest_add(running, vectors[i].message + byte, 1);
        digest_end(running, digest);
        digest_hex(digest, hex);
        cr_expect_str_eq(hex, vectors[i].digest, "%s, byte by byte, on a digest used before", vectors[i].message);
    }
}

Test(digest, a_million_letters_give_nists_digest)
{
    unsigned char digest[DIGEST_SIZE];
    char hex[DIGEST_HEX_SIZE], block[1000];
    memset(block, 'a', sizeof block);
    AUTO(digest) running = digest_new();
    for (int i = 0; i < 1000; i++)
        digest_add(running, block, sizeof block);
    digest_end(running, digest);
    digest_hex(digest, hex);
    cr_expect_str_eq(hex, million_a);
}

/* Source: Douglas Crockford, "Base 32" (crockford.com/base32.html): its table of values 0 to 31. The expected texts
 * follow from it by cutting the bits by hand. */
Test(digest, the_first_fifty_bits_are_ten_base_32_digits)
{
    static const struct {
        unsigned char first[8];
        const char *digits;
    } rows[] = {
        {{0}, "0000000000"},
        {{0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff}, "ZZZZZZZZZZ"},
        {{0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xc0}, "ZZZZZZZZZZ"},
        {{0, 0, 0, 0, 0, 0, 0x3f, 0xff}, "0000000000"}, /* bits 51 and later do not count */
        {{0, 0, 0, 0, 0, 0, 0x40}, "0000000001"},
        {{0x08}, "1000000000"},
        /* 00000 00001 00010 … 01001, and 01010 … 10011, and 10100 … 11101: values 0 to 9, 10 to 19, 20 to 29 */
        {{0x00, 0x44, 0x32, 0x14, 0xc7, 0x42, 0x40}, "0123456789"},
        {{0x52, 0xd8, 0xd7, 0x3e, 0x11, 0x94, 0xc0}, "ABCDEFGHJK"},
        {{0xa5, 0x6d, 0x7c, 0x67, 0x5b, 0xe7, 0x40}, "MNPQRSTVWX"},
        {{0xf7, 0xc0}, "YZ00000000"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        unsigned char digest[DIGEST_SIZE] = {0};
        char digits[11];
        memcpy(digest, rows[i].first, sizeof rows[i].first);
        digest_base32(digest, digits);
        cr_expect_str_eq(digits, rows[i].digits, "row %zu: %s", i, digits);
    }
}
