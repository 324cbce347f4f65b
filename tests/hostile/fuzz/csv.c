/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The CSV reader. Lines grow and exist; no row is passed over that holds something; what a cell is as written gives the
 * cell when it is read alone; and rows that are written again read the same. */
#include <stdio.h>
#include <string.h>

#include "base/output.h"
#include "common/fuzz.h"
#include "intake/csv.h"

static bool holds_something(struct text bytes)
{
    for (size_t i = 0; i < bytes.size; i++)
        if (memchr(", \t\r\n\"", bytes.data[i], 6) == NULL)
            return true;
    return false;
}

/* `raw` is all that stands between the dividers: alone, it is a row of one cell. */
static void require_same_alone(struct text raw, struct text cell)
{
    struct csv_reader reader;
    uint32_t line;
    char *bytes = fuzz_copy(raw);
    csv_start(&reader, bytes, raw.size);
    enum csv_row row = csv_next(&reader, &line);
    if (cell.size == 0)
        REQUIRE(row == CSV_END);
    else
        REQUIRE(row == CSV_ROW && reader.cell_count == 1 && text_equal(reader.cells[0], cell));
    csv_stop(&reader);
    memory_free(bytes);
}

static void write_row(struct output *output, const struct csv_reader *reader)
{
    for (size_t i = 0; i < reader->cell_count; i++)
        csv_cell(output, i == 0, reader->cells[i]);
    csv_row_end(output);
}

/* What was written has the same rows as what is being read. */
static void require_same_rows(struct text input, struct text written)
{
    struct csv_reader first, second;
    uint32_t line;
    char *bytes = fuzz_copy(input), *again = fuzz_copy(written);
    csv_start(&first, bytes, input.size);
    csv_start(&second, again, written.size);
    for (enum csv_row row; (row = csv_next(&first, &line)) != CSV_END;) {
        if (row != CSV_ROW)
            continue;
        REQUIRE(csv_next(&second, &line) == CSV_ROW && second.cell_count == first.cell_count);
        for (size_t i = 0; i < first.cell_count; i++)
            REQUIRE(text_equal(first.cells[i], second.cells[i]));
    }
    REQUIRE(csv_next(&second, &line) == CSV_END);
    csv_stop(&first);
    csv_stop(&second);
    memory_free(bytes);
    memory_free(again);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct text input = fuzz_text(data, size);
    struct csv_reader reader;
    uint32_t line = 0, last = 0, lines = fuzz_lines(input);
    char *bytes = fuzz_copy(input), *asis = fuzz_copy(input);
    size_t behind = 0; /* the row before */
    AUTO(output) output = output_memory();
    csv_start(&reader, bytes, size);
    reader.keeps_raw = true;
    for (enum csv_row row; (row = csv_next(&reader, &line)) != CSV_END; last = line) {
        REQUIRE(line > last && line <= lines);
        behind = (size_t)(reader.at - bytes);
        for (size_t i = 0; i < reader.cell_count; i++) {
            struct text raw = {asis + (reader.raw[i].data - bytes), reader.raw[i].size};
            require_same_alone(raw, reader.cells[i]);
        }
        if (row == CSV_ROW)
            write_row(output, &reader);
        if (row == CSV_OPEN_QUOTE)
            REQUIRE(reader.at == reader.end);
    }
    REQUIRE(!holds_something((struct text){asis + behind, size - behind}));
    csv_stop(&reader);
    require_same_rows(input, output_taken(output));
    memory_free(bytes);
    memory_free(asis);
    return 0;
}
