/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/wrapped.h"

#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"

size_t wrapped_width(void)
{
    const char *columns = getenv("COLUMNS");
    long width = columns != NULL ? strtol(columns, NULL, 10) : 0;
    return width >= 40 && width <= 200 ? (size_t)width : 80;
}

void wrapped_print(struct output *output, size_t width, struct text first, size_t indent, struct text text)
{
    AUTO(arena) arena = arena_new();
    size_t column = utf8_count(first);
    output_text(output, first);
    bool line_has_word = false;
    text = utf8_shown(arena, text);
    while (text.size > 0) {
        const char *blank = memchr(text.data, ' ', text.size);
        struct text word = {text.data, blank != NULL ? (size_t)(blank - text.data) : text.size};
        size_t taken = blank != NULL ? word.size + 1 : word.size, letters = utf8_count(word);
        if (line_has_word && column + 1 + letters > width) {
            output_print(output, "\n%*s", (int)indent, "");
            column = indent;
            line_has_word = false;
        }
        output_text(output, line_has_word ? TEXT(" ") : TEXT(""));
        output_text(output, word);
        column += letters + (line_has_word ? 1 : 0);
        line_has_word = true;
        text = (struct text){text.data + taken, text.size - taken};
    }
    output_text(output, TEXT("\n"));
}
