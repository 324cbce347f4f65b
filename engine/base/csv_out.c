/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing CSV, of output.h. */
#include <string.h>

#include "base/output.h"

/* A blank at either end needs quotes as well: readers drop it otherwise. */
static bool needs_quotes(struct text value)
{
    if (text_trim(value).size != value.size)
        return true;
    for (size_t i = 0; i < value.size; i++)
        if (memchr("\",\r\n", value.data[i], 4) != NULL)
            return true;
    return false;
}

void csv_cell(struct output *output, bool first, struct text value)
{
    if (!first)
        output_text(output, TEXT(","));
    if (!needs_quotes(value)) {
        output_text(output, value);
        return;
    }
    output_text(output, TEXT("\""));
    size_t from = 0;
    for (size_t i = 0; i < value.size; i++) {
        if (value.data[i] != '"')
            continue;
        output_bytes(output, value.data + from, i + 1 - from); /* up to the quote, which then comes again */
        from = i;
    }
    output_bytes(output, value.data + from, value.size - from);
    output_text(output, TEXT("\""));
}

void csv_row_end(struct output *output) { output_text(output, TEXT("\r\n")); }
