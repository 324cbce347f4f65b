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

enum { WHY_SIZE = 256 };

/* *bytes is replaced when converted (the old block is freed); *start is where the text begins (behind a UTF-8 mark).
 * *note: static, NULL if there is nothing to say. False: `why` says what is wrong, and where. */
bool encoding_to_utf8(char **bytes, size_t *size, size_t *start, const char **note, char why[WHY_SIZE]);

#endif
