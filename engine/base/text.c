/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/random.h>
#include <time.h>

struct text text_of(const char *string) { return (struct text){string, string ? strlen(string) : 0}; }

bool text_equal(struct text a, struct text b)
{
    if (a.size != b.size || (a.data == NULL) != (b.data == NULL))
        return false;
    return a.size == 0 || memcmp(a.data, b.data, a.size) == 0;
}

bool text_is(struct text a, const char *string) { return text_equal(a, text_of(string)); }

int text_compare(struct text a, struct text b)
{
    if (a.data == NULL || b.data == NULL)
        return (a.data != NULL) - (b.data != NULL);
    size_t shared = a.size < b.size ? a.size : b.size;
    int order = shared > 0 ? memcmp(a.data, b.data, shared) : 0;
    if (order != 0)
        return order < 0 ? -1 : 1;
    return (a.size > b.size) - (a.size < b.size);
}

bool text_starts(struct text a, const char *prefix)
{
    size_t size = strlen(prefix);
    return a.data != NULL && a.size >= size && memcmp(a.data, prefix, size) == 0;
}

bool text_ends(struct text a, const char *ending)
{
    size_t size = strlen(ending);
    return a.size > size && text_same((struct text){a.data + a.size - size, size}, (struct text){ending, size});
}

bool text_same(struct text a, struct text b)
{
    if (a.data == NULL || b.data == NULL)
        return a.data == b.data;
    bool same = a.size == b.size;
    for (size_t i = 0; same && i < a.size; i++)
        same = text_lower(a.data[i]) == text_lower(b.data[i]);
    return same;
}

static bool is_blank(char c) { return c == ' ' || c == '\t'; }

struct text text_trim(struct text a)
{
    while (a.size > 0 && is_blank(a.data[0])) {
        a.data++;
        a.size--;
    }
    while (a.size > 0 && is_blank(a.data[a.size - 1]))
        a.size--;
    return a;
}

/* The low `size` bytes (0 to 8) as a number, least significant first, whatever the machine's own order is. */
static uint64_t bytes_number(const unsigned char *bytes, size_t size)
{
    uint64_t number = 0;
    for (size_t i = 0; i < size; i++)
        number |= (uint64_t)bytes[i] << (8 * i);
    return number;
}

/* Both halves of the 128-bit product, folded: every bit of either factor reaches every bit of the answer. */
static uint64_t fold_product(uint64_t a, uint64_t b)
{
    __extension__ typedef unsigned __int128 wide;
    wide product = (wide)a * b;
    return (uint64_t)product ^ (uint64_t)(product >> 64);
}

uint64_t text_hash_key(void)
{
    uint64_t key = 0;
    if (getrandom(&key, sizeof key, GRND_NONBLOCK) !=
        sizeof key) { /* at a machine's start: harder to guess than none */
        struct timespec now = {0};
        clock_gettime(CLOCK_MONOTONIC, &now);
        key = fold_product((uint64_t)now.tv_nsec ^ (uint64_t)(uintptr_t)&now, 0x243f6a8885a308d3u);
    }
    return key | 1;
}

/* Eight bytes a step by multiply and fold; the constant is the second word of pi's fraction, made odd. */
uint64_t text_hash(struct text a, uint64_t key)
{
    const uint64_t second = 0x13198a2e03707345u;
    const unsigned char *bytes = (const unsigned char *)a.data;
    uint64_t hash = fold_product(a.size + second, key);
    size_t left = a.size;
    for (; left >= 8; left -= 8, bytes += 8)
        hash = fold_product(hash ^ bytes_number(bytes, 8), key);
    return fold_product(hash ^ bytes_number(bytes, left), second);
}

struct text text_keep(struct arena *arena, struct text a)
{
    if (a.data == NULL)
        return a;
    char *copy = arena_take(arena, a.size + 1);
    memcpy(copy, a.data, a.size);
    copy[a.size] = '\0';
    return (struct text){copy, a.size};
}

const char *text_string(struct arena *arena, struct text a) { return text_keep(arena, a).data; }

struct text text_print_list(struct arena *arena, const char *format, va_list values)
{
    va_list again;
    va_copy(again, values);
    int size = vsnprintf(NULL, 0, format, values);
    char *copy = arena_take(arena, (size_t)size + 1);
    vsnprintf(copy, (size_t)size + 1, format, again);
    va_end(again);
    return (struct text){copy, (size_t)size};
}

struct text text_print(struct arena *arena, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    struct text printed = text_print_list(arena, format, values);
    va_end(values);
    return printed;
}

enum { WORD_LONGEST = 64 };

static size_t least(size_t a, size_t b) { return a < b ? a : b; }

/* Edits from `a` to `b`: a letter more, less or changed, or two neighbours exchanged (optimal string alignment), by
 * three rows of the usual table. */
static size_t edit_distance(struct text a, struct text b)
{
    size_t rows[3][WORD_LONGEST + 1];
    size_t *before = rows[0], *above = rows[1], *row = rows[2];
    for (size_t j = 0; j <= b.size; j++)
        above[j] = j;
    for (size_t i = 1; i <= a.size; i++) {
        row[0] = i;
        for (size_t j = 1; j <= b.size; j++) {
            size_t changed = above[j - 1] + (a.data[i - 1] != b.data[j - 1]);
            row[j] = least(changed, least(above[j], row[j - 1]) + 1);
            if (i > 1 && j > 1 && a.data[i - 1] == b.data[j - 2] && a.data[i - 2] == b.data[j - 1])
                row[j] = least(row[j], before[j - 2] + 1);
        }
        size_t *spare = before;
        before = above;
        above = row;
        row = spare;
    }
    return above[b.size];
}

const char *text_nearest(struct text word, const char *const *words)
{
    const char *nearest = NULL;
    size_t nearest_distance = word.size / 3 + 1;
    if (word.data == NULL || word.size > WORD_LONGEST)
        return NULL;
    for (; *words != NULL; words++) {
        struct text candidate = text_of(*words);
        if (candidate.size > WORD_LONGEST)
            continue;
        size_t distance = edit_distance(word, candidate);
        if (distance < nearest_distance) {
            nearest = *words;
            nearest_distance = distance;
        }
    }
    return nearest;
}
