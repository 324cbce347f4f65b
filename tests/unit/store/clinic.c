/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700 /* nftw */
#include "clinic.h"

#include <ftw.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/output.h"

void clinic_open(struct clinic *clinic)
{
    memset(clinic, 0, sizeof *clinic);
    strcpy(clinic->path, "/tmp/assize-test-XXXXXX");
    cr_assert_not_null(mkdtemp(clinic->path));
    sprintf(clinic->store_path, "%s/assize.db", clinic->path);
    clinic_put(clinic, "site.yaml", "site: clinic\n");
}

static int remove_entry(const char *path, const struct stat *status, int type, struct FTW *place)
{
    (void)status, (void)type, (void)place;
    return remove(path);
}

void clinic_close(struct clinic *clinic)
{
    nftw(clinic->path, remove_entry, 8, FTW_DEPTH | FTW_PHYS);
    load_report_free(clinic->report);
    memory_free(clinic->text);
}

void clinic_put(const struct clinic *clinic, const char *path, const char *text)
{
    char whole[200];
    snprintf(whole, sizeof whole, "%s/%s", clinic->path, path);
    if (text == NULL) {
        cr_assert_eq(unlink(whole), 0, "%s", whole);
        return;
    }
    for (char *slash = strchr(whole + strlen(clinic->path) + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        mkdir(whole, 0777);
        *slash = '/';
    }
    FILE *file = fopen(whole, "w");
    cr_assert_not_null(file);
    fputs(text, file);
    fclose(file);
}

/* ---- loading ---- */

static struct store *open_store(const struct clinic *clinic, enum store_mode mode)
{
    struct fault fault = {.code = FAULT_NONE};
    struct store *store = NULL;
    cr_assert(store_open(&store, clinic->store_path, mode, &fault), "%s", fault.text);
    return store;
}

static void expect_one_file(const struct clinic *clinic)
{
    static const char *const others[] = {".lock", ".new", "-journal", "-wal", "-shm"};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        char path[120];
        snprintf(path, sizeof path, "%s%s", clinic->store_path, others[i]);
        cr_expect_neq(access(path, F_OK), 0, "%s stays behind", path);
    }
}

void clinic_load_edited(struct clinic *clinic, const char *today)
{
    struct fault fault = {.code = FAULT_NONE};
    AUTO(folder) folder = NULL;
    day_number day;
    cr_assert(day_parse(text_of(today), &day, NULL));
    cr_assert(folder_open(&folder, clinic->path, &fault), "%s", fault.text);
    struct load_site site = {TEXT("clinic"), &folder->sites[0]};
    struct store *store = open_store(clinic, STORE_WRITE);
    load_report_free(clinic->report);
    clinic->report = NULL;
    bool loaded = store_load(store, &site, 1, day, NULL, &clinic->report, &fault);
    store_free(store);
    cr_assert(loaded, "%s", fault.text);
}

void clinic_load(struct clinic *clinic, const char *today)
{
    clinic_load_edited(clinic, today);
    EXPECT_TEXT(clinic_break(clinic), "");
    expect_one_file(clinic);
}

const char *clinic_head(struct clinic *clinic) { return clinic->report->head; }

/* ---- what the store has, as text ---- */

/* Takes what was written, without the last line's end. */
static const char *clinic_says(struct clinic *clinic, struct output *output)
{
    struct text text = output_taken(output);
    memory_free(clinic->text);
    clinic->text = memory_new(text.size + 1);
    if (text.size > 0)
        memcpy(clinic->text, text.data, text.data[text.size - 1] == '\n' ? text.size - 1 : text.size);
    output_free(output);
    return clinic->text;
}

const char *clinic_counts(struct clinic *clinic, enum kind_id kind)
{
    const struct load_counts *counts = &clinic->report->kinds[kind];
    const struct {
        const char *name;
        uint64_t count;
    } parts[] = {
        {"read", counts->read},         {"new", counts->added},           {"amended", counts->amended},
        {"filled", counts->filled},     {"withdrawn", counts->withdrawn}, {"refused", counts->refused},
        {"repeated", counts->repeated},
    };
    struct output *output = output_memory();
    bool first = true;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (parts[i].count == 0)
            continue;
        output_print(output, "%s%s %llu", first ? "" : ", ", parts[i].name, (unsigned long long)parts[i].count);
        first = false;
    }
    return clinic_says(clinic, output);
}

struct printing {
    struct output *output;
    const struct record_kind *kind;
    struct names *names;
};

static void print_cell(struct output *output, const struct column *column, const struct cell *cell)
{
    char text[24];
    if (column->type == CELL_TIME)
        moment_print(cell->whole, text);
    else if (column->type == CELL_DATE)
        day_print((day_number)cell->whole, text);
    else if (column->type == CELL_WHOLE)
        snprintf(text, sizeof text, "%lld", (long long)cell->whole);
    else {
        output_print(output, "%.*s ", TEXT_FORMAT(cell->text));
        return;
    }
    output_print(output, "%s ", text);
}

static void print_row(void *context, const struct stored_row *row)
{
    struct printing *printing = context;
    for (size_t i = 0; i < printing->kind->column_count; i++)
        if (row->cells[i].present)
            print_cell(printing->output, &printing->kind->columns[i], &row->cells[i]);
    struct text file = names_text(printing->names, row->file);
    output_print(printing->output, "@%.*s:%u\n", TEXT_FORMAT(file), row->line);
}

const char *clinic_rows(struct clinic *clinic, enum kind_id kind)
{
    struct fault fault = {.code = FAULT_NONE};
    struct store *store = open_store(clinic, STORE_READ);
    struct printing printing = {output_memory(), kind_of(kind), store_names(store)};
    cr_assert(store_read(store, TEXT("clinic"), kind_of(kind), print_row, &printing, &fault), "%s", fault.text);
    store_free(store);
    return clinic_says(clinic, printing.output);
}

static void print_change(void *context, const struct stored_change *change)
{
    char day[DAY_TEXT_SIZE];
    day_print(change->loaded_on, day);
    output_print(context, "%s %.*s on %s%s, @%.*s:%u\n", change->withdrawn ? "withdrawn" : "amended",
                 TEXT_FORMAT(change->key), day, change->noted ? ", noted" : "", TEXT_FORMAT(change->path),
                 change->line);
}

const char *clinic_changes(struct clinic *clinic)
{
    struct fault fault = {.code = FAULT_NONE};
    struct store *store = open_store(clinic, STORE_READ);
    struct output *output = output_memory();
    cr_assert(store_changes(store, TEXT("clinic"), print_change, output, &fault), "%s", fault.text);
    store_free(store);
    return clinic_says(clinic, output);
}

static const char *lines(struct clinic *clinic, char *const *texts, size_t count)
{
    struct output *output = output_memory();
    for (size_t i = 0; i < count; i++)
        output_print(output, "%s\n", texts[i]);
    return clinic_says(clinic, output);
}

const char *clinic_refusals(struct clinic *clinic)
{
    return lines(clinic, clinic->report->refusals, clinic->report->refusal_count);
}

const char *clinic_warnings(struct clinic *clinic)
{
    return lines(clinic, clinic->report->warnings, clinic->report->warning_count);
}

/* ---- edits ---- */

void clinic_edit(const struct clinic *clinic, const char *sql)
{
    sqlite3 *handle = NULL;
    char *why = NULL;
    cr_assert_eq(sqlite3_open(clinic->store_path, &handle), SQLITE_OK);
    cr_assert_eq(sqlite3_exec(handle, sql, NULL, NULL, &why), SQLITE_OK, "%s: %s", sql, why);
    cr_expect_neq(sqlite3_total_changes(handle), 0, "%s: changes nothing", sql);
    sqlite3_close(handle);
}

void clinic_edit_sealed(const struct clinic *clinic, const char *sql)
{
    char sealed[1024];
    snprintf(sealed, sizeof sealed, "BEGIN; %s; UPDATE seal SET changes = changes + 1; COMMIT", sql);
    clinic_edit(clinic, sealed);
}

const char *clinic_break(struct clinic *clinic)
{
    struct fault fault = {.code = FAULT_NONE};
    struct store *store = open_store(clinic, STORE_READ);
    struct chain_report report;
    struct output *output = output_memory();
    cr_assert(store_verify(store, &report, &fault), "%s", fault.text);
    store_free(store);
    cr_expect_eq(report.whole, report.first_break[0] == '\0');
    output_print(output, "%s", report.first_break);
    return clinic_says(clinic, output);
}
