/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text slices: bytes with a length, borrowed from whoever holds them (a file's buffer, an arena, a literal).
 * Not terminated by NUL. An absent text has data == NULL; an empty one has not. */
#ifndef ASSIZE_BASE_TEXT_H
#define ASSIZE_BASE_TEXT_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/memory.h"

struct text {
    const char *data;
    size_t size;
};

#define TEXT(literal) ((struct text){(literal), sizeof(literal) - 1})
#define TEXT_FORMAT(t) (int)(t).size, (t).data /* for "%.*s" */

struct text text_of(const char *string); /* NULL gives the absent text */
bool text_equal(struct text a, struct text b);
bool text_is(struct text a, const char *string);
int text_compare(struct text a, struct text b); /* by bytes; absent before empty before all others */
bool text_starts(struct text a, const char *prefix);
bool text_ends(struct text a, const char *ending); /* in any case of A to Z, and something stands before it */
bool text_same(struct text a, struct text b);      /* equal in any case of A to Z */
static inline char text_lower(char c) { return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c; }
struct text text_trim(struct text a);                        /* without blanks and tabs around it */
struct text text_keep(struct arena *arena, struct text a);   /* copy; a NUL stands behind it */
const char *text_string(struct arena *arena, struct text a); /* copy, ended by NUL; NULL for absent */
struct text text_print(struct arena *arena, const char *format, ...) __attribute__((format(printf, 2, 3)));
struct text text_print_list(struct arena *arena, const char *format, va_list values)
    __attribute__((format(printf, 2, 0)));

/* A hash for tables in memory, never for the disk. Each table draws a key (odd) of its own by chance: who writes a log
 * must not be able to fill one place of a table, or to have one row taken for another. */
uint64_t text_hash_key(void);
uint64_t text_hash(struct text a, uint64_t key);

/* The entry of `words` (NULL at its end) nearest to `word` by edit distance, or NULL if none is within a third of its
 * length: "unknown column 'resutl', did you mean 'result'?" */
const char *text_nearest(struct text word, const char *const *words);

/* A table of names: each different text gets a number, 1, 2, 3 … in order of arrival; 0 is "absent". Copies what it
 * keeps. */
struct names;
struct names *names_new(void);
uint32_t names_add(struct names *names, struct text text);        /* absent or empty gives 0 */
uint32_t names_find(const struct names *names, struct text text); /* 0 if it is not there */
struct text names_text(const struct names *names, uint32_t name); /* absent for 0; lives as long as the table */
uint32_t names_count(const struct names *names);                  /* the highest number given */
void names_free(struct names *names);
OWNER(names);

#endif
