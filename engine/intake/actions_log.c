/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/actions_log.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "intake/log.h"

#define STANDARD_FILE "records/actions.csv"
#define FIRST_ID "CA-1"

struct actions_file {
    const char *name; /* relative to the site folder */
    char *path;
    struct file_bytes bytes; /* as it was read; data is NULL where there is no file yet */
};

struct actions_log {
    struct arena *arena;
    const struct site_place *site;
    struct actions_file *files;
    size_t file_count;
    struct logged_action *rows;
    size_t row_count, row_capacity;
    struct text *ids; /* of all rows, refused ones too, and reserved ones */
    size_t id_count, id_capacity;
    size_t numbered_at; /* the last row's place in `ids` */
};

/* ---- reading ---- */

static const struct record_kind *kind(void) { return kind_of(KIND_ACTIONS); }

static bool file_fault(const struct actions_file *file, const char *what, struct fault *fault)
{
    return fault_set(fault, FAULT_FILE, "%s: %s", file->path, what);
}

static void keep_id(struct actions_log *log, struct text id)
{
    VECTOR_GROW(log->ids, log->id_count, log->id_capacity);
    log->ids[log->id_count++] = text_keep(log->arena, id);
}

struct reading {
    struct actions_log *log;
    const char *file;
};

static struct text cell_text(const struct actions_log *log, const struct cell *cell)
{
    return cell->present ? text_keep(log->arena, cell->text) : (struct text){0};
}

static day_number cell_day(const struct cell *cell)
{
    return cell->present ? (day_number)cell->whole : (day_number)DAY_ABSENT;
}

static void take_row(void *context, uint32_t line, const struct cell *cells)
{
    struct reading *reading = context;
    struct actions_log *log = reading->log;
    log->numbered_at = log->id_count;
    keep_id(log, cells[COL(ACTIONS, action)].text);
    VECTOR_GROW(log->rows, log->row_count, log->row_capacity);
    log->rows[log->row_count++] = (struct logged_action){
        .action = log->ids[log->id_count - 1],
        .finding = cell_text(log, &cells[COL(ACTIONS, finding)]),
        .taken = cell_text(log, &cells[COL(ACTIONS, taken)]),
        .owner = cell_text(log, &cells[COL(ACTIONS, owner)]),
        .verified_by = cell_text(log, &cells[COL(ACTIONS, verified_by)]),
        .opened_on = cell_day(&cells[COL(ACTIONS, opened_on)]),
        .closed_on = cell_day(&cells[COL(ACTIONS, closed_on)]),
        .file = reading->file,
        .line = line,
    };
}

static void take_refusal(void *context, const struct refusal *refusal, const struct cell *cells)
{
    struct reading *reading = context;
    (void)refusal;
    if (cells[COL(ACTIONS, action)].present)
        keep_id(reading->log, cells[COL(ACTIONS, action)].text);
}

static bool read_file(struct actions_log *log, const struct log_file *from, struct fault *fault)
{
    struct actions_file *file = &log->files[log->file_count++];
    struct reading reading = {log, from->path};
    struct log_sink sink = {.context = &reading, .row = take_row, .refused_row = take_refusal};
    char why[WHY_SIZE];
    *file = (struct actions_file){.name = from->path, .path = path_join(log->site->path, from->path)};
    if (from->refused != NULL)
        return file_fault(file, from->refused, fault);
    if (!file_read(file->path, log->site->path, &file->bytes, fault))
        return false;
    char *copy = memory_new(file->bytes.size + 1);
    if (file->bytes.size > 0)
        memcpy(copy, file->bytes.data, file->bytes.size);
    bool read = log_read(kind(), file->path, &copy, file->bytes.size, &sink, why);
    memory_free(copy);
    return read || file_fault(file, why, fault);
}

bool actions_log_read(struct actions_log **out, const struct site_place *site, struct fault *fault)
{
    AUTO(actions_log) log = memory_new(sizeof *log);
    log->arena = arena_new();
    log->site = site;
    log->files = memory_new((site->log_count + 1) * sizeof *log->files); /* one more for a file to be made */
    if (site->unreadable != NULL)
        return fault_set(fault, FAULT_FILE, "%s", site->unreadable);
    for (size_t i = 0; i < site->log_count; i++)
        if (site->logs[i].kind == kind() && !read_file(log, &site->logs[i], fault))
            return false;
    *out = log;
    log = NULL;
    return true;
}

void actions_log_free(struct actions_log *log)
{
    if (log == NULL)
        return;
    for (size_t i = 0; i < log->file_count; i++) {
        memory_free(log->files[i].path);
        memory_free(log->files[i].bytes.data);
    }
    memory_free(log->files);
    memory_free(log->rows);
    memory_free(log->ids);
    arena_free(log->arena);
    memory_free(log);
}

const struct logged_action *actions_log_rows(const struct actions_log *log, size_t *count)
{
    *count = log->row_count;
    return log->rows;
}

/* ---- ids ---- */

void actions_log_reserve(struct actions_log *log, struct text action) { keep_id(log, action); }

enum { FIGURES_MOST = 9 };

/* The figures at the end of an id: how many, and their number. */
static size_t figures_of(struct text id, unsigned long *number)
{
    size_t count = 0;
    while (count < id.size && id.data[id.size - count - 1] >= '0' && id.data[id.size - count - 1] <= '9')
        count++;
    if (count == 0 || count > FIGURES_MOST)
        return 0;
    *number = 0;
    for (size_t i = id.size - count; i < id.size; i++)
        *number = *number * 10 + (unsigned long)(id.data[i] - '0');
    return count;
}

static bool is_taken(const struct actions_log *log, struct text id)
{
    for (size_t i = 0; i < log->id_count; i++)
        if (text_equal(log->ids[i], id))
            return true;
    return false;
}

struct text actions_log_next(const struct actions_log *log)
{
    unsigned long number = 0, highest = 0;
    struct text last = log->row_count > 0 ? log->ids[log->numbered_at] : TEXT(FIRST_ID);
    size_t figures = figures_of(last, &number);
    if (figures == 0) {
        last = TEXT(FIRST_ID);
        figures = 1;
    }
    struct text before = {last.data, last.size - figures};
    for (size_t i = 0; i < log->id_count; i++) {
        struct text id = log->ids[i];
        size_t count = figures_of(id, &number);
        if (count > 0 && text_equal((struct text){id.data, id.size - count}, before) && number > highest)
            highest = number;
    }
    struct text next;
    do
        next = text_print(log->arena, "%.*s%0*lu", TEXT_FORMAT(before), (int)figures, ++highest);
    while (is_taken(log, next));
    return next;
}

/* ---- writing ---- */

static bool may_be_written(const struct actions_log *log, const struct actions_file *file, struct fault *fault)
{
    struct stat status;
    const char *why;
    if (lstat(file->path, &status) != 0)
        return (errno == ENOENT && file->bytes.data == NULL) || file_fault(file, strerror(errno), fault);
    if (S_ISLNK(status.st_mode))
        return file_fault(file, "is a symbolic link; enter it in the file that it leads to", fault);
    if (!S_ISREG(status.st_mode))
        return file_fault(file, "is no file", fault);
    if ((status.st_mode & 0222) == 0 || access(file->path, W_OK) != 0)
        return file_fault(file, "is write-protected", fault);
    return path_is_inside(file->path, log->site->path, &why) || file_fault(file, why, fault);
}

/* Somebody may have saved the file since it was read. */
static bool is_as_it_was(const struct actions_log *log, const struct actions_file *file, struct fault *fault)
{
    struct file_bytes now;
    if (file->bytes.data == NULL)
        return !file_exists(file->path) || file_fault(file, "was made by somebody else just now; try again", fault);
    if (!file_read(file->path, log->site->path, &now, fault))
        return false;
    bool same = now.size == file->bytes.size && memcmp(now.data, file->bytes.data, now.size) == 0;
    memory_free(now.data);
    return same || file_fault(file, "was changed by somebody else just now; try again", fault);
}

static bool write_file(const struct actions_log *log, const struct actions_file *file, struct text bytes,
                       struct fault *fault)
{
    struct output *output;
    if (!output_file(&output, file->path, fault))
        return false;
    output_text(output, bytes);
    if (is_as_it_was(log, file, fault))
        return output_close(output, fault);
    output_free(output);
    return false;
}

static bool is_standard(const struct actions_file *file) { return text_same(text_of(file->name), TEXT(STANDARD_FILE)); }

/* Where a new row goes. */
static struct actions_file *file_for_new(struct actions_log *log)
{
    for (size_t i = 0; i < log->file_count; i++)
        if (log->file_count == 1 || is_standard(&log->files[i]))
            return &log->files[i];
    struct actions_file *file = &log->files[log->file_count++];
    *file = (struct actions_file){.name = STANDARD_FILE, .path = path_join(log->site->path, STANDARD_FILE)};
    return file;
}

bool actions_log_add(struct actions_log *log, const struct edit_cell *cells, size_t count, const char **name,
                     struct fault *fault)
{
    char why[WHY_SIZE];
    struct actions_file *file = file_for_new(log);
    AUTO(output) old = output_memory();
    AUTO(output) new = output_memory();
    if (!may_be_written(log, file, fault))
        return false;
    if (file->bytes.data != NULL)
        output_bytes(old, file->bytes.data, file->bytes.size);
    else
        log_edit_begin(kind(), old);
    if (!log_edit_add(kind(), output_taken(old), cells, count, new, why))
        return file_fault(file, why, fault);
    *name = file->name;
    return write_file(log, file, output_taken(new), fault);
}

bool actions_log_change(struct actions_log *log, const struct logged_action *action, const struct edit_cell *cells,
                        size_t count, struct fault *fault)
{
    char why[WHY_SIZE];
    const struct actions_file *file = log->files;
    while (file->name != action->file)
        file++;
    AUTO(output) new = output_memory();
    if (!may_be_written(log, file, fault))
        return false;
    struct text bytes = {file->bytes.data, file->bytes.size};
    if (!log_edit_change(kind(), bytes, action->line, cells, count, new, why))
        return file_fault(file, why, fault);
    return write_file(log, file, output_taken(new), fault);
}
