/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/encoding.h"

#include <errno.h>
#include <iconv.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/utf8.h"

static bool refuse(char why[WHY_SIZE], const char *reason)
{
    snprintf(why, WHY_SIZE, "%s", reason);
    return false;
}

static size_t line_of(struct text text, size_t at)
{
    size_t line = 1;
    for (size_t i = 0; i < at; i++)
        line += text.data[i] == '\n' || (text.data[i] == '\r' && (i + 1 == text.size || text.data[i + 1] != '\n'));
    return line;
}

static bool begins_with(struct text text, const char *mark, size_t size)
{
    return text.size >= size && memcmp(text.data, mark, size) == 0;
}

/* A new block with the text in another character set. False if something in it has no meaning there. */
static bool convert(struct text text, const char *from, const char *to, char **out, size_t *size)
{
    iconv_t converter = iconv_open(to, from);
    if (converter == (iconv_t)-1)
        return false;
    size_t room = 3 * text.size + 1; /* no byte of these character sets becomes more than three */
    char *converted = memory_new(room);
    char *in = (char *)text.data, *end = converted;
    size_t in_left = text.size, out_left = room;
    size_t changed = iconv(converter, &in, &in_left, &end, &out_left);
    iconv_close(converter);
    if (changed != 0 || in_left != 0) {
        memory_free(converted);
        return false;
    }
    *out = converted;
    *size = (size_t)(end - converted);
    return true;
}

/* Replaces *bytes from `from` on by its UTF-8 form. */
static bool replace(char **bytes, size_t *size, size_t from, const char *charset)
{
    char *converted;
    if (!convert((struct text){*bytes + from, *size - from}, charset, "UTF-8", &converted, size))
        return false;
    memory_free(*bytes);
    *bytes = converted;
    return true;
}

static bool from_utf16(char **bytes, size_t *size, const char *charset, char why[WHY_SIZE])
{
    if (!replace(bytes, size, 2, charset))
        return refuse(why, "begins as UTF-16, but is not valid UTF-16 throughout");
    if (memchr(*bytes, '\0', *size) != NULL)
        return refuse(why, "holds NUL characters; it is no text");
    return true;
}

/* Whether a UTF-8 character of more than one byte stands anywhere. */
static bool holds_utf8(struct text text)
{
    for (size_t at = 0; at < text.size; at++) {
        uint32_t character;
        size_t size;
        if (utf8_first((struct text){text.data + at, text.size - at}, &character, &size) && size > 1)
            return true;
    }
    return false;
}

static bool holds_controls(struct text text)
{
    for (size_t i = 0; i < text.size; i++) {
        unsigned char c = (unsigned char)text.data[i];
        if (c < 0x20 && strchr("\t\n\v\f\r", c) == NULL)
            return true;
    }
    return false;
}

static bool from_windows_1252(char **bytes, size_t *size, size_t bad, const char **note, char why[WHY_SIZE])
{
    struct text text = {*bytes, *size};
    size_t line = line_of(text, bad);
    if (holds_controls(text))
        return refuse(why, "is no text");
    if (holds_utf8(text)) {
        snprintf(why, WHY_SIZE, "mixes UTF-8 with other bytes, first on line %zu; save it as UTF-8", line);
        return false;
    }
    if (!replace(bytes, size, 0, "WINDOWS-1252")) {
        snprintf(why, WHY_SIZE, "is neither UTF-8 (line %zu) nor Windows-1252; save it as UTF-8", line);
        return false;
    }
    *note = "is not UTF-8; read as Windows-1252";
    return true;
}

bool encoding_to_utf8(char **bytes, size_t *size, size_t *start, const char **note, char why[WHY_SIZE])
{
    struct text text = {*bytes, *size};
    *start = 0;
    *note = NULL;
    if (text.size == 0)
        return true;
    if (begins_with(text, "\xFF\xFE\0\0", 4) || begins_with(text, "\0\0\xFE\xFF", 4))
        return refuse(why, "is UTF-32; save it as UTF-8");
    if (begins_with(text, "\xFF\xFE", 2))
        return from_utf16(bytes, size, "UTF-16LE", why);
    if (begins_with(text, "\xFE\xFF", 2))
        return from_utf16(bytes, size, "UTF-16BE", why);
    if (begins_with(text, "PK\3\4", 4))
        return refuse(why, "is a workbook or archive, no CSV; save the sheet as CSV");
    if (memchr(text.data, '\0', text.size) != NULL)
        return refuse(why, "holds NUL bytes: no text, or UTF-16 without a byte order mark; save it as UTF-8");
    bool marked = begins_with(text, "\xEF\xBB\xBF", 3);
    *start = marked ? 3 : 0;
    size_t valid = utf8_valid_size(text);
    if (valid == text.size)
        return true;
    if (marked) {
        snprintf(why, WHY_SIZE, "says that it is UTF-8, but is not on line %zu", line_of(text, valid));
        return false;
    }
    return from_windows_1252(bytes, size, valid, note, why);
}

/* ---- back ---- */

static const struct {
    const char *name, *charset;
} encodings[] = {{"UTF-8", "UTF-8"}, {"UTF-16", "UTF-16LE"}, {"UTF-16", "UTF-16BE"}, {"Windows-1252", "WINDOWS-1252"}};

enum encoding encoding_of(struct text bytes, const char *note)
{
    if (begins_with(bytes, "\xFF\xFE", 2))
        return ENCODING_UTF16_LE;
    if (begins_with(bytes, "\xFE\xFF", 2))
        return ENCODING_UTF16_BE;
    return note != NULL ? ENCODING_WINDOWS_1252 : ENCODING_UTF8;
}

const char *encoding_name(enum encoding encoding) { return encodings[encoding].name; }

bool encoding_from_utf8(enum encoding encoding, struct text text, char **out, size_t *size)
{
    return convert(text, "UTF-8", encodings[encoding].charset, out, size);
}

size_t encoding_place(enum encoding encoding, struct text text, size_t at)
{
    if (encoding == ENCODING_UTF8)
        return at;
    size_t units = 0;
    for (size_t i = 0; i < at; i++) {
        unsigned char c = (unsigned char)text.data[i];
        bool first = (c & 0xC0) != 0x80;
        units += first;
        if (encoding != ENCODING_WINDOWS_1252)
            units += c >= 0xF0; /* beyond U+FFFF: two */
    }
    return encoding == ENCODING_WINDOWS_1252 ? units : 2 + 2 * units; /* behind the mark */
}
