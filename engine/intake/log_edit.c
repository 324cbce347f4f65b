/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/log_edit.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "intake/csv.h"
#include "intake/header.h"
#include "intake/log.h"

struct edit {
    const struct record_kind *kind;
    struct text file; /* as it is */
    const struct edit_cell *cells;
    size_t count;
    enum encoding encoding;
    char *text, *read; /* the file as UTF-8, and a copy for the reader, which unfolds quotes in it */
    size_t size;
    struct csv_reader csv;
    struct header header;
    struct text line_end; /* the last one seen */
    struct output *out;
    size_t done; /* of `text`: what stands in `out` already */
    char *why;
};

static bool refuse(struct edit *edit, const char *reason)
{
    snprintf(edit->why, WHY_SIZE, "%s", reason);
    return false;
}

static char *copy_bytes(struct text text)
{
    char *copy = memory_new(text.size + 1);
    if (text.size > 0)
        memcpy(copy, text.data, text.size);
    return copy;
}

/* ---- reading the file, with the place of each cell ---- */

static bool has_column(const struct edit *edit, int column)
{
    for (size_t i = 0; i < edit->header.width; i++)
        if (edit->header.places[i] == column)
            return true;
    return false;
}

static bool check_columns(struct edit *edit)
{
    int size = 0;
    if (!header_check(&edit->header, edit->kind, edit->csv.cells, edit->why))
        return false;
    for (size_t i = 0; i < edit->count; i++)
        if (!has_column(edit, edit->cells[i].column) && size < WHY_SIZE)
            size += snprintf(edit->why + size, (size_t)(WHY_SIZE - size), "%s%s",
                             size == 0 ? "its header row lacks what is needed; add to it: " : ", ",
                             edit->kind->columns[edit->cells[i].column].name);
    return size == 0;
}

/* The line end that stands before the reader's place, if there is one. */
static void note_line_end(struct edit *edit)
{
    const char *end = edit->csv.at;
    size_t behind = (size_t)(end - edit->read);
    if (behind >= 2 && end[-2] == '\r' && end[-1] == '\n')
        edit->line_end = TEXT("\r\n");
    else if (behind >= 1 && (end[-1] == '\n' || end[-1] == '\r'))
        edit->line_end = end[-1] == '\n' ? TEXT("\n") : TEXT("\r");
}

static enum csv_row next_row(struct edit *edit, uint32_t *line)
{
    const struct csv_reader *csv = &edit->csv;
    enum csv_row row = csv_next(&edit->csv, line);
    if (row == CSV_ROW || row == CSV_BAD_QUOTE)
        note_line_end(edit);
    if (row == CSV_ROW && header_may_be(&edit->header, edit->kind, csv->cells, csv->cell_count,
                                        HEADER_LIKELY)) { /* rows behind it go by it */
        header_free(&edit->header);
        header_match(&edit->header, edit->kind, csv->cells, csv->cell_count);
    }
    return row;
}

static bool start(struct edit *edit)
{
    size_t begin;
    const char *note;
    uint32_t line;
    edit->text = copy_bytes(edit->file);
    edit->size = edit->file.size;
    if (!encoding_to_utf8(&edit->text, &edit->size, &begin, &note, edit->why))
        return false;
    edit->encoding = encoding_of(edit->file, note);
    edit->read = copy_bytes((struct text){edit->text, edit->size});
    csv_start(&edit->csv, edit->read + begin, edit->size - begin);
    edit->csv.keeps_raw = true;
    edit->line_end = TEXT("\r\n");
    if (next_row(edit, &line) != CSV_ROW)
        return refuse(edit, "has no header row that can be read");
    header_free(&edit->header);
    header_match(&edit->header, edit->kind, edit->csv.cells, edit->csv.cell_count);
    return check_columns(edit);
}

static void stop(struct edit *edit)
{
    csv_stop(&edit->csv);
    header_free(&edit->header);
    memory_free(edit->text);
    memory_free(edit->read);
}

/* ---- writing ---- */

/* The file's own bytes up to the place `to` of its text. */
static void keep_up_to(struct edit *edit, size_t to)
{
    struct text text = {edit->text, edit->size};
    size_t first = edit->done == 0 ? 0 : encoding_place(edit->encoding, text, edit->done);
    size_t last = to == edit->size ? edit->file.size : encoding_place(edit->encoding, text, to);
    output_bytes(edit->out, edit->file.data + first, last - first);
    edit->done = to;
}

static bool put(struct edit *edit, struct text text)
{
    char *bytes;
    size_t size;
    if (!encoding_from_utf8(edit->encoding, text, &bytes, &size)) {
        snprintf(edit->why, WHY_SIZE, "is a %s file, and what is to be entered has characters that do not exist there",
                 encoding_name(edit->encoding));
        return false;
    }
    output_bytes(edit->out, bytes, size);
    memory_free(bytes);
    return true;
}

/* What is to stand in the cell below the header's cell `place`; absent if nothing is to be changed there. */
static struct text value_at(const struct edit *edit, size_t place)
{
    for (size_t i = 0; i < edit->count; i++)
        if (edit->header.places[place] == edit->cells[i].column)
            return edit->cells[i].value;
    return (struct text){0};
}

static bool ends_with_line_end(const struct edit *edit)
{
    return edit->size > 0 && (edit->text[edit->size - 1] == '\n' || edit->text[edit->size - 1] == '\r');
}

static bool add_row(struct edit *edit)
{
    uint32_t line;
    enum csv_row row;
    while ((row = next_row(edit, &line)) != CSV_END)
        if (row == CSV_OPEN_QUOTE) {
            snprintf(edit->why, WHY_SIZE, "a quote on line %u is never closed; mend that first", line);
            return false;
        }
    bool ended = ends_with_line_end(edit);
    AUTO(output) added = output_memory();
    output_text(added, ended ? TEXT("") : edit->line_end);
    for (size_t place = 0; place < edit->header.width; place++)
        csv_cell(added, place == 0, value_at(edit, place));
    output_text(added, ended ? edit->line_end : TEXT(""));
    keep_up_to(edit, edit->size);
    return put(edit, output_taken(added));
}

static bool put_cell(struct edit *edit, bool first, struct text value)
{
    AUTO(output) cell = output_memory();
    csv_cell(cell, first, value);
    return put(edit, output_taken(cell));
}

/* Cells that the row has are replaced; where it ends before the header does, it is made longer. */
static bool change_cells(struct edit *edit)
{
    const struct csv_reader *csv = &edit->csv;
    size_t last = 0;
    for (size_t place = 0; place < edit->header.width; place++)
        if (value_at(edit, place).data != NULL)
            last = place;
    for (size_t place = 0; place <= last; place++) {
        struct text value = value_at(edit, place);
        const struct text *raw = &csv->raw[place < csv->cell_count ? place : csv->cell_count - 1];
        size_t from = (size_t)(raw->data - edit->read);
        if (place < csv->cell_count && value.data == NULL)
            continue;
        keep_up_to(edit, place < csv->cell_count ? from : from + raw->size);
        if (!put_cell(edit, place < csv->cell_count, value))
            return false;
        edit->done = from + raw->size;
    }
    keep_up_to(edit, edit->size);
    return true;
}

static bool change_row(struct edit *edit, uint32_t wanted)
{
    uint32_t line;
    for (enum csv_row row; (row = next_row(edit, &line)) != CSV_END;)
        if (line == wanted && row == CSV_ROW)
            return change_cells(edit);
    snprintf(edit->why, WHY_SIZE, "has no row on line %u", wanted);
    return false;
}

/* ---- proof ---- */

struct proof { /* what a load would find in a file */
    const struct edit *edit;
    uint32_t line; /* of the changed row; 0: the last one is new */
    size_t rows, refused;
    bool says_so; /* the row in question has the cells that were told */
};

static void see_row(void *context, uint32_t line, const struct cell *cells)
{
    struct proof *proof = context;
    proof->rows++;
    if (proof->line != 0 && proof->line != line)
        return;
    proof->says_so = true;
    for (size_t i = 0; i < proof->edit->count; i++)
        if (!text_equal(cells[proof->edit->cells[i].column].text, proof->edit->cells[i].value))
            proof->says_so = false;
}

static void see_refusal(void *context, const struct refusal *refusal, const struct cell *cells)
{
    struct proof *proof = context;
    (void)refusal, (void)cells;
    proof->refused++;
}

static bool read_proof(struct proof *proof, struct text file, char why[WHY_SIZE])
{
    struct log_sink sink = {.context = proof, .row = see_row, .refused_row = see_refusal};
    char *bytes = copy_bytes(file);
    bool read = log_read(proof->edit->kind, "", &bytes, file.size, &sink, why);
    memory_free(bytes);
    return read;
}

static bool prove(struct edit *edit, uint32_t line, struct text made)
{
    struct proof before = {.edit = edit, .line = line}, after = before;
    if (!read_proof(&before, edit->file, edit->why) || !read_proof(&after, made, edit->why))
        return false;
    if (after.says_so && after.refused == before.refused && after.rows == before.rows + (line == 0))
        return true;
    return refuse(edit, "would not say the same when it is read again, so nothing was entered");
}

/* ---- the two edits ---- */

static bool run(struct edit *edit, uint32_t line, struct output *out)
{
    AUTO(output) made = output_memory();
    edit->out = made;
    bool good =
        start(edit) && (line == 0 ? add_row(edit) : change_row(edit, line)) && prove(edit, line, output_taken(made));
    if (good)
        output_text(out, output_taken(made));
    stop(edit);
    return good;
}

bool log_edit_add(const struct record_kind *kind, struct text file, const struct edit_cell *cells, size_t count,
                  struct output *out, char why[WHY_SIZE])
{
    struct edit edit = {.kind = kind, .file = file, .cells = cells, .count = count, .why = why};
    return run(&edit, 0, out);
}

bool log_edit_change(const struct record_kind *kind, struct text file, uint32_t line, const struct edit_cell *cells,
                     size_t count, struct output *out, char why[WHY_SIZE])
{
    struct edit edit = {.kind = kind, .file = file, .cells = cells, .count = count, .why = why};
    return run(&edit, line, out);
}

void log_edit_begin(const struct record_kind *kind, struct output *out)
{
    for (size_t i = 0; i < kind->column_count; i++)
        csv_cell(out, i == 0, text_of(kind->columns[i].name));
    csv_row_end(out);
}
