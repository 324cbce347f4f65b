/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/telling.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"

/* ---- lines ---- */

/* What a log holds goes to a terminal: characters that do not print become blanks. */
static void make_printable(char *line)
{
    for (char *at = line; *at != '\0';) {
        uint32_t character = (unsigned char)*at;
        size_t size = 1;
        bool valid = character < 0x80 || utf8_first(text_of(at), &character, &size);
        if (!valid || character < 0x20 || character == 0x7F || (character >= 0x80 && !utf8_is_printable(character)))
            memset(at, ' ', size);
        at += size;
    }
}

static char *report_line(const struct telling *telling, struct text site, struct text rest)
{
    char *line = memory_new(site.size + rest.size + 3);
    if (telling->names_sites && site.data != NULL)
        sprintf(line, "%.*s: %.*s", TEXT_FORMAT(site), TEXT_FORMAT(rest));
    else
        sprintf(line, "%.*s", TEXT_FORMAT(rest));
    make_printable(line);
    return line;
}

void tell_warning(struct telling *telling, struct text site, struct text text)
{
    struct load_report *report = telling->report;
    VECTOR_GROW(report->warnings, report->warning_count, telling->warning_capacity);
    report->warnings[report->warning_count++] = report_line(telling, site, text);
}

static void tell_refusal(struct telling *telling, struct text site, struct text text)
{
    struct load_report *report = telling->report;
    VECTOR_GROW(report->refusals, report->refusal_count, telling->refusal_capacity);
    report->refusals[report->refusal_count++] = report_line(telling, site, text);
}

static void part_put(struct bytes *out, struct text part)
{
    if (part.data == NULL)
        return;
    memcpy(bytes_room(out, part.size + 2), ": ", 2);
    memcpy(out->data + out->size + 2, part.data, part.size);
    out->size += part.size + 2;
}

/* "records/tests.csv:14: result: 5,4: reason", without what is absent. */
static void tell_refused_row(struct telling *telling, struct text site, const struct kept_file *file,
                             const struct kept_refusal *refusal)
{
    AUTO_BYTES line = {0};
    line.size =
        (size_t)sprintf((char *)bytes_room(&line, file->path.size + 24), "%s:%u", file->path.data, refusal->line);
    part_put(&line, refusal->column);
    part_put(&line, refusal->value);
    part_put(&line, refusal->reason);
    tell_refusal(telling, site, (struct text){(const char *)line.data, line.size});
}

static void tell_file(struct telling *telling, struct text site, const struct kept_file *file, struct arena *arena)
{
    struct load_report *report = telling->report;
    for (size_t i = 0; i < file->warning_count; i++)
        tell_warning(telling, site, file->warnings[i]);
    if (file->refused.data != NULL) {
        report->refused_files++;
        tell_refusal(telling, site, text_print(arena, "%s: %.*s", file->path.data, TEXT_FORMAT(file->refused)));
    }
    for (size_t i = 0; i < file->refusal_count; i++)
        tell_refused_row(telling, site, file, &file->refusals[i]);
    if (file->kind == NULL)
        return;
    struct load_counts *counts = &report->kinds[file->kind->id];
    counts->files++;
    counts->files_unchanged += file->is_unchanged;
    counts->read += file->rows;
    counts->refused += file->refusal_count;
    counts->repeated += file->repeated;
}

void tell_site(struct telling *telling, const struct load_site *site, const struct lists *lists)
{
    for (size_t i = 0; i < site->place->passed_over_count; i++)
        tell_warning(telling, site->site,
                     text_print(lists->arena, "%s: passed over: no log", site->place->passed_over[i]));
    for (size_t i = 0; i < lists->count; i++)
        tell_file(telling, site->site, &lists->files[i], lists->arena);
}

void tell_update(struct telling *telling, const struct record_kind *kind, const struct update *update)
{
    struct load_counts *counts = &telling->report->kinds[kind->id];
    counts->added += update->added;
    counts->amended += update->amended;
    counts->filled += update->filled;
    counts->withdrawn += update->withdrawn;
}

void tell_early(struct telling *telling, struct text site, const struct lists *lists, const struct update *update)
{
    if (update->early == 0)
        return;
    const struct row_view *first = &update->first_early;
    tell_warning(telling, site,
                 text_print(lists->arena,
                            "%s:%u: new, but dated before entries of an earlier load; such new entries of this kind: "
                            "%" PRIu64,
                            lists->files[first->file].path.data, first->line, update->early));
}

void load_report_free(struct load_report *report)
{
    if (report == NULL)
        return;
    for (size_t i = 0; i < report->refusal_count; i++)
        memory_free(report->refusals[i]);
    for (size_t i = 0; i < report->warning_count; i++)
        memory_free(report->warnings[i]);
    memory_free(report->refusals);
    memory_free(report->warnings);
    memory_free(report);
}
