/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/scan.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include "base/utf8.h"

enum depth { IN_RECORDS, IN_KIND, TOO_DEEP };

struct scan {
    struct site_place *site;
    size_t log_capacity, passed_over_capacity;
};

/* A place in records/ that is looked at: its path from the site folder, and what the names above it say. */
struct entry {
    const char *path, *name;
    enum depth depth;               /* of the folder it lies in */
    const struct record_kind *kind; /* of that folder, NULL if it is none */
};

static void scan_folder(struct scan *scan, const char *path, enum depth depth, const struct record_kind *kind);

static bool is_shown(struct text rest, size_t *size)
{
    uint32_t character;
    return utf8_first(rest, &character, size) && utf8_is_printable(character);
}

/* A name that cannot be printed must not garble a report: of what does not show each byte becomes //E4. No path that
 * was scanned has two slashes side by side, so names that differ stay different. */
static char *printable(const char *path)
{
    char *shown = memory_new(4 * strlen(path) + 1), *end = shown;
    struct text rest = text_of(path);
    while (rest.size > 0) {
        size_t size;
        bool shows = is_shown(rest, &size);
        for (size_t i = 0; i < size; i++)
            end += shows ? sprintf(end, "%c", rest.data[i]) : sprintf(end, "//%02X", (unsigned char)rest.data[i]);
        rest = (struct text){rest.data + size, rest.size - size};
    }
    return shown;
}

static void add_log(struct scan *scan, const char *path, const struct record_kind *kind, const char *refused)
{
    struct site_place *site = scan->site;
    VECTOR_GROW(site->logs, site->log_count, scan->log_capacity);
    struct log_file *log = &site->logs[site->log_count++];
    *log = (struct log_file){printable(path), kind, NULL};
    if (strcmp(log->path, path) != 0 && refused == NULL)
        refused = "its name holds characters that do not print";
    if (refused != NULL)
        log->refused = memory_copy_string(refused);
}

static void pass_over(struct scan *scan, const char *path)
{
    struct site_place *site = scan->site;
    VECTOR_GROW(site->passed_over, site->passed_over_count, scan->passed_over_capacity);
    site->passed_over[site->passed_over_count++] = printable(path);
}

static bool ends_as_csv(const char *name)
{
    size_t size = strlen(name);
    return size > 4 && strcasecmp(name + size - 4, ".csv") == 0;
}

/* The part of a log's name that says its kind: "tests" of "tests.csv" and "tests-2026-10.csv". */
static struct text stem_of(const char *name)
{
    size_t stem = strlen(name) - 4, dash = strcspn(name, "-");
    return (struct text){name, dash < stem ? dash : stem};
}

static void refuse_name(struct scan *scan, const struct entry *entry)
{
    struct text stem = utf8_cut(stem_of(entry->name), 64);
    const char *nearest = text_nearest(stem, kind_names());
    char reason[512];
    snprintf(reason, sizeof reason, "no kind of record is called '%.*s'%s%s", TEXT_FORMAT(stem),
             nearest != NULL ? ", the nearest known is " : "", nearest != NULL ? nearest : "");
    char *shown = printable(reason);
    add_log(scan, entry->path, NULL, shown);
    memory_free(shown);
}

static void take_csv(struct scan *scan, const struct entry *entry, const char *refused)
{
    const struct record_kind *kind = entry->kind;
    if (entry->depth == IN_RECORDS)
        kind = kind_named(stem_of(entry->name));
    if (refused != NULL)
        add_log(scan, entry->path, kind, refused);
    else if (entry->depth == TOO_DEEP)
        add_log(scan, entry->path, NULL, "lies too deep; logs lie in records/ or in records/KIND/");
    else if (kind == NULL)
        refuse_name(scan, entry);
    else
        add_log(scan, entry->path, kind, NULL);
}

static void take_folder(struct scan *scan, const struct entry *entry, bool is_link)
{
    const struct record_kind *kind = entry->depth == IN_RECORDS ? kind_named(text_of(entry->name)) : NULL;
    if (is_link && kind == NULL)
        add_log(scan, entry->path, NULL, "a symbolic link to a folder that is no kind of record");
    else
        scan_folder(scan, entry->path, kind != NULL ? IN_KIND : TOO_DEEP, kind);
}

enum { REASON_SIZE = 256 };
static const char *cannot_read(int error, char out[REASON_SIZE])
{
    snprintf(out, REASON_SIZE, "cannot be read: %s", strerror(error));
    return out;
}

/* A folder that logs lie in: without it their rows would seem to be gone. The first one counts. */
static void note_unreadable(struct site_place *site, const char *path, const char *reason)
{
    AUTO(arena) arena = arena_new();
    if (site->unreadable == NULL)
        site->unreadable = memory_copy_string(text_print(arena, "%s: %s", path, reason).data);
}

static void take_entry(struct scan *scan, const struct entry *entry)
{
    char *path = path_join(scan->site->path, entry->path);
    struct stat status;
    bool is_link = lstat(path, &status) == 0 && S_ISLNK(status.st_mode);
    bool is_there = stat(path, &status) == 0;
    int error = is_there ? 0 : errno;
    bool is_folder = is_there && S_ISDIR(status.st_mode);
    const char *refused = NULL;
    char reason[REASON_SIZE];
    if (is_link)
        path_is_inside(path, scan->site->path, &refused);
    else if (!is_there)
        refused = "cannot be read";
    if (refused == NULL && ends_as_csv(entry->name) && !S_ISREG(status.st_mode))
        refused = is_folder ? "is a folder, not a file" : "is no regular file";

    if (name_is_by_product(entry->name))
        pass_over(scan, entry->path);
    else if (error != 0 && error != ENOENT && !is_link && !ends_as_csv(entry->name))
        note_unreadable(scan->site, path, cannot_read(error, reason)); /* it may be a folder of a kind */
    else if (ends_as_csv(entry->name))
        take_csv(scan, entry, refused);
    else if (is_folder && refused != NULL)
        add_log(scan, entry->path, entry->depth == IN_RECORDS ? kind_named(text_of(entry->name)) : NULL, refused);
    else if (is_folder)
        take_folder(scan, entry, is_link);
    else
        pass_over(scan, entry->path);
    memory_free(path);
}

static void scan_folder(struct scan *scan, const char *path, enum depth depth, const struct record_kind *kind)
{
    char *full = path_join(scan->site->path, path);
    struct folder_names names;
    bool is_open = folder_names_read(full, &names);
    if (!is_open) {
        char reason[REASON_SIZE];
        cannot_read(errno, reason);
        if (depth == TOO_DEEP)
            add_log(scan, path, kind, reason);
        else
            note_unreadable(scan->site, full, reason);
    }
    for (size_t i = 0; i < names.count; i++) {
        char *entry_path = path_join(path, names.names[i]);
        take_entry(scan, &(struct entry){entry_path, names.names[i], depth, kind});
        memory_free(entry_path);
    }
    folder_names_free(&names);
    memory_free(full);
}

static int compare_logs(const void *a, const void *b)
{
    return strcmp(((const struct log_file *)a)->path, ((const struct log_file *)b)->path);
}

static int compare_paths(const void *a, const void *b) { return strcmp(*(char *const *)a, *(char *const *)b); }

void scan_records(struct site_place *site)
{
    struct scan scan = {.site = site};
    char *path = path_join(site->path, "records");
    const char *why = NULL;
    struct stat status;
    bool is_link = lstat(path, &status) == 0 && S_ISLNK(status.st_mode);
    if (is_link && !path_is_inside(path, site->path, &why))
        note_unreadable(site, path, why);
    else
        scan_folder(&scan, "records", IN_RECORDS, NULL);
    memory_free(path);
    if (site->log_count > 0)
        qsort(site->logs, site->log_count, sizeof *site->logs, compare_logs);
    if (site->passed_over_count > 0)
        qsort(site->passed_over, site->passed_over_count, sizeof *site->passed_over, compare_paths);
}
