/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Logs: the first line of the input names the kind, the rest is the file. Every row below the header is handed over or
 * refused, once, with its line and a reason, or told as a header again, until one says that the rest cannot be read;
 * what is required of a cell holds in each row taken. */
#include <stdlib.h>
#include <string.h>

#include "common/fuzz.h"
#include "intake/csv.h"
#include "intake/log.h"

struct seen {
    const struct record_kind *kind;
    uint32_t last, lines; /* of the row before; of the file */
    size_t rows;
    bool to_end;
};

static void see_line(struct seen *seen, uint32_t line)
{
    REQUIRE(line > seen->last && line <= seen->lines && !seen->to_end);
    seen->last = line;
    seen->rows++;
}

static void see_row(void *context, uint32_t line, const struct cell *cells)
{
    struct seen *seen = context;
    see_line(seen, line);
    for (size_t i = 0; i < seen->kind->column_count; i++) {
        struct cell again;
        const char *why;
        if (seen->kind->columns[i].flags & COLUMN_REQUIRED)
            REQUIRE(cells[i].present);
        if (!cells[i].present)
            continue;
        REQUIRE(cells[i].text.size > 0 && text_equal(cells[i].text, text_trim(cells[i].text)));
        REQUIRE(cell_parse(&seen->kind->columns[i], cells[i].text, &again, &why));
        REQUIRE(cell_equal(&seen->kind->columns[i], &cells[i], &again));
    }
}

static void see_refusal(void *context, const struct refusal *refusal, const struct cell *cells)
{
    (void)cells;
    see_line(context, refusal->line);
    REQUIRE(refusal->reason != NULL && *refusal->reason != '\0');
    ((struct seen *)context)->to_end = refusal->to_end;
}

static void see_warning(void *context, const char *text)
{
    struct seen *seen = context;
    REQUIRE(strncmp(text, "shown:", 6) == 0);
    char *what;
    unsigned long line = strtoul(text + 6, &what, 10);
    if (strncmp(what, ": a header row again; ", 22) == 0)
        see_line(seen, (uint32_t)line);
}

/* Rows that hold something, the header not counted. */
static size_t count_rows(char *bytes, size_t size, size_t start)
{
    struct csv_reader reader;
    uint32_t line;
    size_t rows = 0;
    csv_start(&reader, bytes + start, size - start);
    while (csv_next(&reader, &line) != CSV_END)
        rows++;
    csv_stop(&reader);
    return rows - 1;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct text file = fuzz_text(data, size), name;
    if (!fuzz_part(&file, '\n', &name) || kind_named(name) == NULL)
        return -1;
    struct seen seen = {.kind = kind_named(name)};
    struct log_sink sink = {&seen, see_row, see_refusal, see_warning};
    char why[WHY_SIZE] = "", *bytes = fuzz_copy(file), *text = fuzz_copy(file);
    size_t text_size = file.size, start;
    const char *note;
    bool is_text = encoding_to_utf8(&text, &text_size, &start, &note, why);
    seen.lines = is_text ? fuzz_lines((struct text){text, text_size}) : 0;
    bool read = log_read(seen.kind, "shown", &bytes, file.size, &sink, why);
    REQUIRE(read || (*why != '\0' && memchr(why, '\0', sizeof why) != NULL));
    REQUIRE(read || seen.rows == 0);
    REQUIRE(is_text || !read);
    size_t rows = read ? count_rows(text, text_size, start) : 0;
    REQUIRE(seen.to_end ? seen.rows <= rows : seen.rows == rows);
    memory_free(text);
    memory_free(bytes);
    return 0;
}
