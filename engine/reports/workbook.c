/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/workbook.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <xlsxwriter.h>

#include "base/aside.h"
#include "base/utf8.h"

struct workbook {
    lxw_workbook *book;   /* NULL once it is closed */
    lxw_worksheet *sheet; /* NULL before the first, and when the library could not begin one */
    bool failed;
    lxw_format *head, *cell, *strong, *number, *day, *minute, *second;
    lxw_row_t row;
    lxw_col_t column, columns;
    struct arena *arena; /* for the texts of a row */
    char *folder;        /* where the library writes: the book and what it puts aside for it */
    char *path;          /* of the book */
    uint64_t room;       /* that the sheets take there at most, in bytes */
};

static lxw_format *new_format(struct workbook *book, const char *number_format)
{
    lxw_format *format = workbook_add_format(book->book);
    format_set_align(format, LXW_ALIGN_VERTICAL_TOP);
    if (number_format != NULL)
        format_set_num_format(format, number_format);
    return format;
}

static void make_formats(struct workbook *book)
{
    book->head = new_format(book, NULL);
    format_set_bold(book->head);
    format_set_text_wrap(book->head);
    format_set_bottom(book->head, LXW_BORDER_THIN);
    book->cell = new_format(book, NULL);
    format_set_text_wrap(book->cell);
    book->strong = new_format(book, NULL);
    format_set_text_wrap(book->strong);
    format_set_bold(book->strong);
    book->number = new_format(book, "#,##0");
    book->day = new_format(book, "yyyy-mm-dd");
    book->minute = new_format(book, "yyyy-mm-dd hh:mm");
    book->second = new_format(book, "yyyy-mm-dd hh:mm:ss");
}

/* Seconds since 1970, of which the library makes the date of creation; it has no other clock then. */
static time_t seconds_of(day_number day)
{
    enum { DAYS_BEFORE_2000 = 10957, SECONDS_A_DAY = 86400 };
    return ((time_t)day + DAYS_BEFORE_2000) * SECONDS_A_DAY;
}

/* The library writes to a path only; what it wrote is copied to the output and removed. */
static bool make_folder(struct workbook *book, struct fault *fault)
{
    const char *place = getenv("TMPDIR");
    AUTO(arena) arena = arena_new();
    struct text stem = text_print(arena, "%s/assize-workbook", place != NULL && *place != '\0' ? place : "/tmp");
    aside_clean(stem.data);
    book->folder = aside_name(stem.data);
    if (mkdir(book->folder, 0700) != 0) {
        fault_set(fault, FAULT_FILE, "%s: cannot be made for the workbook: %s", book->folder, strerror(errno));
        memory_free(book->folder);
        book->folder = NULL;
        return false;
    }
    book->path = memory_copy_string(text_print(arena, "%s/findings.xlsx", book->folder).data);
    return true;
}

bool workbook_begin(struct workbook **out, day_number made_on, const char *title, struct fault *fault)
{
    AUTO(workbook) book = memory_new(sizeof *book);
    book->arena = arena_new();
    if (!make_folder(book, fault))
        return false;
    lxw_workbook_options options = {.constant_memory = LXW_TRUE, .tmpdir = book->folder, .use_zip64 = LXW_FALSE};
    book->book = workbook_new_opt(book->path, &options);
    if (book->book == NULL)
        return fault_set(fault, FAULT_FILE, "%s: the workbook cannot be begun", book->path);
    AUTO(arena) arena = arena_new();
    struct text shown = utf8_shown(arena, text_of(title));
    char said[256];
    snprintf(said, sizeof said, "%.*s", TEXT_FORMAT(utf8_cut(shown, 60)));
    lxw_doc_properties properties = {.title = said, .created = seconds_of(made_on)};
    workbook_set_properties(book->book, &properties);
    make_formats(book);
    *out = book;
    book = NULL;
    return true;
}

void workbook_free(struct workbook *book)
{
    if (book == NULL)
        return;
    if (book->book != NULL)
        (void)workbook_close(book->book);
    if (book->folder != NULL)
        aside_remove(book->folder);
    memory_free(book->folder);
    memory_free(book->path);
    arena_free(book->arena);
    memory_free(book);
}

void workbook_sheet(struct workbook *book, const char *name, const struct sheet_column *columns, size_t count)
{
    enum { A4 = 9 };
    book->sheet = workbook_add_worksheet(book->book, name);
    book->failed = book->failed || book->sheet == NULL;
    if (book->failed)
        return;
    book->row = 0;
    book->column = 0;
    book->columns = (lxw_col_t)count;
    for (lxw_col_t i = 0; i < book->columns; i++) {
        worksheet_set_column(book->sheet, i, i, columns[i].width, NULL);
        worksheet_write_string(book->sheet, 0, i, columns[i].title, book->head);
    }
    worksheet_freeze_panes(book->sheet, 1, 1);
    worksheet_set_landscape(book->sheet);
    worksheet_set_paper(book->sheet, A4);
    worksheet_fit_to_pages(book->sheet, 1, 0);
    worksheet_repeat_rows(book->sheet, 0, 0);
    book->row = 1;
}

void workbook_sheet_end(struct workbook *book)
{
    if (!book->failed && book->row > 1)
        worksheet_autofilter(book->sheet, 0, 0, book->row - 1, (lxw_col_t)(book->columns - 1));
}

/* ---- cells --------------------------------------------------------------------------------------------------------
 */

/* The format reads `_x0041_` as the character of that number: where a text holds such a thing as it is, its first
 * underscore is written as `_x005F_`. Source: ISO/IEC 29500-1, 22.9.2.19 ST_Xstring. */
static bool is_escape(struct text text)
{
    if (text.size < 7 || text.data[0] != '_' || text.data[1] != 'x' || text.data[6] != '_')
        return false;
    for (size_t i = 2; i < 6; i++)
        if (strchr("0123456789abcdefABCDEF", text.data[i]) == NULL)
            return false;
    return true;
}

static bool is_simple(struct text text)
{
    for (size_t i = 0; i < text.size; i++)
        if (text.data[i] < ' ' || text.data[i] > '~' || text.data[i] == '_')
            return false;
    return text.size < 1000;
}

/* What XML can hold, at most as long as a cell may be. Source of the limit: as of WORKBOOK_ROWS. */
static const char *cell_text(struct workbook *book, struct text text)
{
    enum { LONGEST = 32767 - 1 };
    if (is_simple(text)) /* nearly all */
        return text_string(book->arena, text);
    text = utf8_shown(book->arena, text);
    bool is_cut = utf8_count(text) > LONGEST;
    AUTO(output) shown = output_memory();
    if (is_cut)
        text = utf8_cut(text, LONGEST);
    for (size_t i = 0; i < text.size; i++) {
        output_bytes(shown, text.data + i, 1);
        if (is_escape((struct text){text.data + i, text.size - i}))
            output_text(shown, TEXT("x005F_"));
    }
    output_text(shown, is_cut ? TEXT("…") : TEXT(""));
    return text_string(book->arena, output_taken(shown));
}

/* Takes the library's word for a cell. The longest is <c r="AB1048576" s="3" t="inlineStr"><is>
 * <t xml:space="preserve">…</t></is></c>. */
static void check(struct workbook *book, lxw_error error, size_t size)
{
    enum { CELL = 96 };
    if (error != LXW_NO_ERROR)
        book->failed = true;
    book->room += CELL + size;
}

/* Its size in XML. */
static size_t size_escaped(const char *text)
{
    enum { MORE = sizeof "&amp;" - 2 };
    size_t size = 0;
    for (; *text != '\0'; text++)
        size += strchr("&<>", *text) != NULL ? 1 + MORE : 1;
    return size;
}

static void text_cell(struct workbook *book, struct text text, lxw_format *format)
{
    if (text.size > 0 && !book->failed) {
        const char *shown = cell_text(book, text);
        check(book, worksheet_write_string(book->sheet, book->row, book->column, shown, format), size_escaped(shown));
    }
    book->column++;
}

void workbook_text(struct workbook *book, struct text text) { text_cell(book, text, book->cell); }
void workbook_strong(struct workbook *book, struct text text) { text_cell(book, text, book->strong); }

void workbook_number(struct workbook *book, uint64_t number)
{
    if (!book->failed)
        check(book, worksheet_write_number(book->sheet, book->row, book->column, (double)number, book->number), 0);
    book->column++;
}

static void date_cell(struct workbook *book, day_number day, int64_t seconds, lxw_format *format)
{
    struct civil civil = day_civil(day);
    lxw_datetime date = {.year = civil.year,
                         .month = civil.month,
                         .day = civil.day,
                         .hour = (int)(seconds / 3600),
                         .min = (int)(seconds / 60 % 60),
                         .sec = (double)(seconds % 60)};
    if (!book->failed)
        check(book, worksheet_write_datetime(book->sheet, book->row, book->column, &date, format), 0);
    book->column++;
}

void workbook_day(struct workbook *book, day_number day) { date_cell(book, day, 0, book->day); }

void workbook_when(struct workbook *book, struct text text)
{
    day_number day;
    moment at;
    if (day_parse(text, &day, NULL)) {
        date_cell(book, day, 0, book->day);
    } else if (moment_parse(text, &at, NULL)) {
        enum { SECONDS_A_DAY = 86400 };
        date_cell(book, moment_day(at, 0), moment_seconds(at) % SECONDS_A_DAY,
                  moment_had_seconds(at) ? book->second : book->minute);
    } else {
        workbook_text(book, text);
    }
}

void workbook_row_end(struct workbook *book)
{
    book->row++;
    book->column = 0;
    arena_reset(book->arena);
}

/* ---- writing ------------------------------------------------------------------------------------------------------
 */

static bool copy(const char *path, struct output *output, struct fault *fault)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return fault_set(fault, FAULT_FILE, "%s: cannot be read: %s", path, strerror(errno));
    char bytes[65536];
    size_t size;
    while ((size = fread(bytes, 1, sizeof bytes, file)) > 0)
        output_bytes(output, bytes, size);
    bool whole = !ferror(file);
    fclose(file);
    return whole || fault_set(fault, FAULT_FILE, "%s: cannot be read", path);
}

/* Whether the disk has the room that the library had need of: it does not look whether what it wrote got there. */
static bool has_room(const struct workbook *book, struct fault *fault)
{
    enum { OTHER_PARTS = 65536 };
    int file = open(book->path, O_WRONLY | O_CLOEXEC);
    if (file < 0)
        return fault_set(fault, FAULT_FILE, "%s: cannot be written: %s", book->path, strerror(errno));
    int error = posix_fallocate(file, 0, (off_t)(2 * book->room + OTHER_PARTS)); /* rows, and the sheet made of them */
    close(file);
    if (error != ENOSPC && error != EDQUOT && error != EIO) /* others: this disk cannot be asked */
        return true;
    return fault_set(fault, FAULT_FILE, "%s: no room for the workbook: %s", book->path, strerror(error));
}

bool workbook_write(struct workbook *book, struct output *output, struct fault *fault)
{
    lxw_error error = workbook_close(book->book);
    book->book = NULL;
    if (error != LXW_NO_ERROR || book->failed)
        return fault_set(fault, FAULT_FILE, "%s: the workbook cannot be written: %s", book->path,
                         error != LXW_NO_ERROR ? lxw_strerror(error) : "the library refused a part");
    return copy(book->path, output, fault) && has_room(book, fault);
}
