/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/utf8.h"

#include <string.h>

static bool is_continuation(unsigned char byte) { return (byte & 0xC0) == 0x80; }

/* Bytes that a character beginning with `lead` takes, 0 if none begins so. */
static size_t size_by_lead(unsigned char lead)
{
    if (lead < 0x80)
        return 1;
    if (lead >= 0xC2 && lead <= 0xDF)
        return 2;
    if (lead >= 0xE0 && lead <= 0xEF)
        return 3;
    return lead >= 0xF0 && lead <= 0xF4 ? 4 : 0;
}

bool utf8_first(struct text text, uint32_t *character, size_t *size)
{
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000}; /* by size: below it the form is overlong */
    const unsigned char *bytes = (const unsigned char *)text.data;
    size_t count = size_by_lead(bytes[0]);
    *size = 1;
    *character = bytes[0];
    if (count == 1)
        return true;
    if (count == 0 || count > text.size)
        return false;
    uint32_t number = bytes[0] & (0x7Fu >> count);
    for (size_t i = 1; i < count; i++) {
        if (!is_continuation(bytes[i]))
            return false;
        number = number << 6 | (bytes[i] & 0x3F);
    }
    if (number < least[count] || number > 0x10FFFF || (number >= 0xD800 && number <= 0xDFFF))
        return false;
    *character = number;
    *size = count;
    return true;
}

/* ASCII bytes at the start, eight at a time: nearly all of a log. */
static size_t ascii_size(struct text text)
{
    size_t at = 0;
    for (; at + 8 <= text.size; at += 8) {
        uint64_t eight;
        memcpy(&eight, text.data + at, 8);
        if (eight & 0x8080808080808080u)
            break;
    }
    while (at < text.size && (unsigned char)text.data[at] < 0x80)
        at++;
    return at;
}

size_t utf8_valid_size(struct text text)
{
    size_t at = 0;
    while (at < text.size) {
        struct text rest = {text.data + at, text.size - at};
        size_t size = ascii_size(rest);
        uint32_t character;
        if (size == 0 && !utf8_first(rest, &character, &size))
            return at;
        at += size;
    }
    return at;
}

struct text utf8_cut(struct text text, size_t count)
{
    size_t at = 0;
    while (at < text.size && count-- > 0) {
        uint32_t character;
        size_t size;
        utf8_first((struct text){text.data + at, text.size - at}, &character, &size);
        at += size;
    }
    return (struct text){text.data, at};
}

size_t utf8_count(struct text text)
{
    size_t count = 0;
    for (size_t at = 0; at < text.size; count++) {
        uint32_t character;
        size_t size;
        utf8_first((struct text){text.data + at, text.size - at}, &character, &size);
        at += size;
    }
    return count;
}

struct range {
    uint32_t first, last;
};

/* The ranges are in order. */
static bool is_in(uint32_t character, const struct range *ranges, size_t count)
{
    for (size_t i = 0; i < count && character >= ranges[i].first; i++)
        if (character <= ranges[i].last)
            return true;
    return false;
}

/* The Unicode Standard 15.0, 23.7. */
static bool is_noncharacter(uint32_t character)
{
    return (character & 0xFFFE) == 0xFFFE || (character >= 0xFDD0 && character <= 0xFDEF);
}

bool utf8_is_printable(uint32_t character)
{
    static const struct range hidden[] = {
        {0x0000, 0x001F},   {0x007F, 0x00A0},   {0x00AD, 0x00AD},   {0x0600, 0x0605},   {0x061C, 0x061C},
        {0x06DD, 0x06DD},   {0x070F, 0x070F},   {0x0890, 0x0891},   {0x08E2, 0x08E2},   {0x1680, 0x1680},
        {0x180E, 0x180E},   {0x2000, 0x200F},   {0x2028, 0x202F},   {0x205F, 0x206F},   {0x3000, 0x3000},
        {0xE000, 0xF8FF},   {0xFEFF, 0xFEFF},   {0xFFF9, 0xFFFB},   {0x110BD, 0x110BD}, {0x110CD, 0x110CD},
        {0x13430, 0x1343F}, {0x1BCA0, 0x1BCA3}, {0x1D173, 0x1D17A}, {0xE0001, 0xE007F}, {0xF0000, 0x10FFFF},
    };
    return !is_noncharacter(character) && !is_in(character, hidden, sizeof hidden / sizeof *hidden);
}

bool utf8_leaves_mark(uint32_t character)
{
    static const struct range empty[] = {
        {0x034F, 0x034F}, {0x115F, 0x1160}, {0x17B4, 0x17B5}, {0x180B, 0x180F}, {0x2800, 0x2800},
        {0x3164, 0x3164}, {0xFE00, 0xFE0F}, {0xFFA0, 0xFFA0}, {0xFFF0, 0xFFF8}, {0xE0000, 0xE0FFF},
    };
    return character > ' ' && utf8_is_printable(character) && !is_in(character, empty, sizeof empty / sizeof *empty);
}

/* The next character that leaves a mark, taken from the text; a byte that is no UTF-8 leaves one. 0: there is none. */
static uint32_t next_mark(struct text *text)
{
    while (text->size > 0) {
        uint32_t character;
        size_t size;
        bool valid = utf8_first(*text, &character, &size);
        *text = (struct text){text->data + size, text->size - size};
        if (!valid || utf8_leaves_mark(character))
            return character;
    }
    return 0;
}

bool utf8_can_be_read(struct text text) { return next_mark(&text) != 0; }

bool utf8_reads_same(struct text one, struct text other)
{
    for (;;) {
        uint32_t mark = next_mark(&one);
        if (mark != next_mark(&other))
            return false;
        if (mark == 0)
            return true;
    }
}

static bool is_mended(uint32_t character)
{
    return (character >= ' ' && character != 0x7F && !is_noncharacter(character)) || character == '\t' ||
           character == '\n' || character == '\r';
}

struct text utf8_mended(struct arena *arena, struct text text)
{
    static const char replacement[] = "\xEF\xBF\xBD";
    char *mended = NULL;
    size_t written = 0, size;
    for (size_t at = 0; at < text.size; at += size) {
        uint32_t character;
        bool good =
            utf8_first((struct text){text.data + at, text.size - at}, &character, &size) && is_mended(character);
        if (!good && mended == NULL) {
            mended = arena_take(arena, text.size * (sizeof replacement - 1));
            memcpy(mended, text.data, at);
            written = at;
        }
        if (mended == NULL)
            continue;
        size_t taken = good ? size : sizeof replacement - 1;
        memcpy(mended + written, good ? text.data + at : replacement, taken);
        written += taken;
    }
    return mended == NULL ? text : (struct text){mended, written};
}

struct text utf8_shown(struct arena *arena, struct text text)
{
    char *shown = arena_take(arena, text.size + 1);
    size_t written = 0;
    while (text.size > 0) {
        uint32_t character;
        size_t size;
        if (utf8_first(text, &character, &size) && utf8_is_printable(character)) {
            memcpy(shown + written, text.data, size);
            written += size;
        } else {
            shown[written++] = '?';
        }
        text.data += size;
        text.size -= size;
    }
    shown[written] = '\0';
    return (struct text){shown, written};
}
