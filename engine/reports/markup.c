/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/markup.h"

#include "base/utf8.h"

/* What stands for the character, or NULL if it stands for itself; in *size how many bytes it takes. */
static const char *instead_of(struct text rest, size_t *size)
{
    uint32_t character = 0;
    bool valid = utf8_first(rest, &character, size);
    switch (valid ? character : 0) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    case '\t':
    case '\n':
    case '\r':
        return NULL;
    case 0x7f:
    case 0xfffe:
    case 0xffff:
        return "\xef\xbf\xbd";
    default:
        return !valid || character < ' ' ? "\xef\xbf\xbd" : NULL;
    }
}

void markup_text(struct output *output, struct text text)
{
    size_t from = 0, size = 1;
    for (size_t i = 0; i < text.size; i += size) {
        const char *instead = instead_of((struct text){text.data + i, text.size - i}, &size);
        if (instead == NULL)
            continue;
        output_bytes(output, text.data + from, i - from);
        markup_put(output, instead);
        from = i + size;
    }
    output_bytes(output, text.data + from, text.size - from);
}

void markup_put(struct output *output, const char *markup) { output_text(output, text_of(markup)); }
