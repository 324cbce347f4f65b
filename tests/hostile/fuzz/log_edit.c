/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Edits of a log: the first line of the input is "KIND LINE" (0 adds), then come lines "COLUMN=VALUE", an empty line,
 * and the file. An edit that is made leaves all other rows what they were, byte for byte where a row is added. */
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "common/fuzz.h"
#include "intake/log.h"
#include "intake/log_edit.h"

enum { CELLS_MOST = COLUMNS_MOST };

struct edits {
    const struct record_kind *kind;
    uint32_t line;
    struct edit_cell cells[CELLS_MOST];
    size_t count;
};

/* What the caller of log_edit has to see to: a column once, a value that is one. */
static void take_edit(struct edits *edits, struct text line)
{
    struct text name;
    struct cell cell;
    const char *why;
    if (!fuzz_part(&line, '=', &name) || edits->count == CELLS_MOST)
        return;
    int column = kind_column(edits->kind, name);
    bool good = column >= 0 && line.size > 0 && text_trim(line).size == line.size &&
                utf8_valid_size(line) == line.size && cell_parse(&edits->kind->columns[column], line, &cell, &why);
    for (size_t i = 0; i < edits->count; i++)
        good = good && edits->cells[i].column != column;
    if (good)
        edits->cells[edits->count++] = (struct edit_cell){column, line};
}

/* All rows of a file, each a line of canonical bytes, but the one in question. */
struct told {
    const struct record_kind *kind;
    uint32_t but;
    struct output *output;
    size_t rows;
};

static void tell_row(void *context, uint32_t line, const struct cell *cells)
{
    struct told *told = context;
    told->rows++;
    if (line == told->but)
        return;
    for (size_t i = 0; i < told->kind->column_count; i++) {
        char *canonical = memory_new(CELL_CANONICAL_SIZE(&cells[i]));
        size_t size = cell_canonical(&told->kind->columns[i], &cells[i], canonical);
        output_bytes(told->output, canonical, size);
        memory_free(canonical);
    }
}

static void tell_refusal(void *context, const struct refusal *refusal, const struct cell *cells)
{
    struct told *told = context;
    (void)cells;
    told->rows++;
    output_print(told->output, "refused %s\n", refusal->reason);
}

static bool tell(struct told *told, struct text file)
{
    struct log_sink sink = {.context = told, .row = tell_row, .refused_row = tell_refusal};
    char why[WHY_SIZE], *bytes = fuzz_copy(file);
    told->output = output_memory();
    bool read = log_read(told->kind, "", &bytes, file.size, &sink, why);
    memory_free(bytes);
    return read;
}

static void require_only_that(const struct edits *edits, struct text file, struct text made)
{
    struct told before = {.kind = edits->kind, .but = edits->line}, after = before;
    REQUIRE(tell(&before, file) && tell(&after, made));
    struct text old = output_taken(before.output), new = output_taken(after.output);
    REQUIRE(after.rows == before.rows + (edits->line == 0));
    REQUIRE(new.size >= old.size &&memcmp(new.data, old.data, old.size) == 0);
    REQUIRE(edits->line == 0 || new.size == old.size);
    if (edits->line == 0)
        REQUIRE(made.size > file.size && memcmp(made.data, file.data, file.size) == 0);
    output_free(before.output);
    output_free(after.output);
}

static void edit(const struct edits *edits, struct text file)
{
    char why[WHY_SIZE] = "";
    AUTO(output) output = output_memory();
    bool good = edits->line == 0
                    ? log_edit_add(edits->kind, file, edits->cells, edits->count, output, why)
                    : log_edit_change(edits->kind, file, edits->line, edits->cells, edits->count, output, why);
    if (good)
        require_only_that(edits, file, output_taken(output));
    else
        REQUIRE(*why != '\0' && memchr(why, '\0', sizeof why) != NULL && output_taken(output).size == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct text rest = fuzz_text(data, size), line, name;
    struct edits edits = {.count = 0};
    if (!fuzz_part(&rest, '\n', &line) || !fuzz_part(&line, ' ', &name))
        return -1;
    edits.kind = kind_named(name);
    for (size_t i = 0; i < line.size && i < 4; i++)
        edits.line = edits.line * 10 + (uint32_t)(line.data[i] - '0') % 10;
    if (edits.kind == NULL)
        return -1;
    while (fuzz_part(&rest, '\n', &line) && line.size > 0)
        take_edit(&edits, line);
    if (edits.count == 0)
        return -1;
    char *file = fuzz_copy(rest);
    edit(&edits, (struct text){file, rest.size});
    memory_free(file);
    return 0;
}
