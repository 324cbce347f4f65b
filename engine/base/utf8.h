/* SPDX-License-Identifier: GPL-3.0-or-later */
/* UTF-8 (RFC 3629): reading characters one by one; overlong forms, surrogates and numbers above U+10FFFF are not UTF-8.
 */
#ifndef ASSIZE_BASE_UTF8_H
#define ASSIZE_BASE_UTF8_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/text.h"

/* The character at the start of `text` (not empty), and in *size how many bytes it takes. False: no UTF-8, *size is 1.
 */
bool utf8_first(struct text text, uint32_t *character, size_t *size);

/* How many bytes at the start of `text` are valid UTF-8: text.size if all. */
size_t utf8_valid_size(struct text text);

size_t utf8_count(struct text text);                  /* characters; a byte that is no UTF-8 counts as one */
struct text utf8_cut(struct text text, size_t count); /* the first `count` characters */

/* Whether a character shows: no control, format or private-use character, no line divider, no blank but U+0020
 * (Unicode general categories Cc, Cf, Co, Zl, Zp, Zs of Unicode 15), and none of the 66 noncharacters, which libraries
 * that draw refuse; unassigned characters are let through. */
bool utf8_is_printable(uint32_t character);

/* The text with U+FFFD for each byte that is no UTF-8, each noncharacter, and each control character but tab and line
 * ends; itself if there is none. */
struct text utf8_mended(struct arena *arena, struct text text);
/* Whether a character leaves a mark: it shows, is no blank, and is none of those that show nothing by themselves
 * (Default_Ignorable_Code_Point of Unicode 15: fillers, selectors, joiners; and the empty Braille pattern). */
bool utf8_leaves_mark(uint32_t character);

bool utf8_can_be_read(struct text text);                  /* some character of it leaves a mark */
bool utf8_reads_same(struct text one, struct text other); /* all that leave a mark are the same */

/* The text with a question mark for each character that does not show: what a record says cannot steer a terminal. */
struct text utf8_shown(struct arena *arena, struct text text);

#endif
