/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Makes UTF-8 of a file's bytes, or says why not: a file is recognised or refused, never misread.
 *
 * A byte order mark (UTF-8, UTF-16) decides. Else valid UTF-8 stays as it is. Else the file is read as Windows-1252,
 * with a note, if every byte has a meaning there and no two bytes of it form a UTF-8 character: a file that mixes both
 * is refused. UTF-32, UTF-16 without a mark, NUL bytes and what is no text are refused. Nothing is guessed from
 * statistics. */
#ifndef ASSIZE_INTAKE_ENCODING_H
#define ASSIZE_INTAKE_ENCODING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

enum { WHY_SIZE = 256 };

/* *bytes is replaced when converted (the old block is freed); *start is where the text begins (behind a UTF-8 mark).
 * *note: static, NULL if there is nothing to say. False: `why` says what is wrong, and where. */
bool encoding_to_utf8(char **bytes, size_t *size, size_t *start, const char **note, char why[WHY_SIZE]);

/* ---- and back, for the one who adds to a file ---- */

enum encoding { ENCODING_UTF8, ENCODING_UTF16_LE, ENCODING_UTF16_BE, ENCODING_WINDOWS_1252 };

/* Of a file that encoding_to_utf8 takes: its bytes as they were, and the note that it gave. */
enum encoding encoding_of(struct text bytes, const char *note);
const char *encoding_name(enum encoding encoding);

/* The text, which is UTF-8, in the encoding, without a mark; *out is owned by the caller. False: a character of it does
 * not exist there. */
bool encoding_from_utf8(enum encoding encoding, struct text text, char **out, size_t *size);

/* Byte `at` of what encoding_to_utf8 made: where it stands in the file's own bytes. */
size_t encoding_place(enum encoding encoding, struct text text, size_t at);

#endif
