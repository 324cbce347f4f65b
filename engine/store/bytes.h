/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A growing block of bytes and the small numbers in it: seven bits a byte, least significant first, the top bit set in
 * all bytes but the last. Signed numbers are folded first (0, -1, 1, -2 … become 0, 1, 2, 3 …), so that small ones stay
 * short. */
#ifndef ASSIZE_STORE_BYTES_H
#define ASSIZE_STORE_BYTES_H

#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"

enum { NUMBER_BYTES_MOST = 10 };

static inline unsigned char *number_put(unsigned char *at, uint64_t number)
{
    while (number >= 0x80) {
        *at++ = (unsigned char)(number | 0x80);
        number >>= 7;
    }
    *at++ = (unsigned char)number;
    return at;
}

/* The number at `at`, which lies before `end`; the place behind it, or NULL if it is not whole. */
static inline const unsigned char *number_take(const unsigned char *at, const unsigned char *end, uint64_t *number)
{
    *number = 0;
    for (int shift = 0; at < end && shift < 64; shift += 7) {
        unsigned char byte = *at++;
        *number |= (uint64_t)(byte & 0x7F) << shift;
        if (byte < 0x80)
            return at;
    }
    return NULL;
}

/* The same of bytes that this program has just put there; moves *at behind the number. */
static inline uint64_t number_next(const unsigned char **at)
{
    uint64_t number = 0;
    int shift = 0;
    for (; **at >= 0x80; shift += 7)
        number |= (uint64_t)(*(*at)++ & 0x7F) << shift;
    return number | (uint64_t) * (*at)++ << shift;
}

static inline uint64_t number_fold(int64_t number) { return (uint64_t)number << 1 ^ (number < 0 ? UINT64_MAX : 0); }
static inline int64_t number_unfold(uint64_t folded) { return (int64_t)(folded >> 1) ^ -(int64_t)(folded & 1); }

struct bytes {
    unsigned char *data;
    size_t size, capacity;
};

/* Makes room for `size` more bytes and returns where they go; the caller adds what it used to bytes->size. */
static inline unsigned char *bytes_room(struct bytes *bytes, size_t size)
{
    if (bytes->capacity - bytes->size < size) {
        bytes->capacity = bytes->size + size + bytes->capacity / 2 + 64;
        bytes->data = memory_resize(bytes->data, bytes->capacity, 1);
    }
    return bytes->data + bytes->size;
}

static inline void bytes_number(struct bytes *bytes, uint64_t number)
{
    unsigned char *at = bytes_room(bytes, NUMBER_BYTES_MOST);
    bytes->size += (size_t)(number_put(at, number) - at);
}

static inline void bytes_block(struct bytes *bytes, const void *data, size_t size)
{
    bytes_number(bytes, size);
    unsigned char *at = bytes_room(bytes, size);
    if (data != NULL)
        memcpy(at, data, size);
    bytes->size += size;
}

/* An absent text differs from an empty one. */
static inline void bytes_text(struct bytes *bytes, struct text text)
{
    bytes_number(bytes, text.data != NULL);
    bytes_block(bytes, text.data, text.size);
}

static inline void bytes_free(struct bytes *bytes)
{
    memory_free(bytes->data);
    *bytes = (struct bytes){0};
}

#define AUTO_BYTES __attribute__((cleanup(bytes_free))) struct bytes

#endif
