/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands/starter.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/aside.h"
#include "base/installed.h"
#include "base/output.h"
#include "intake/file.h"
#include "records/cell.h"

static const char method_ending[] = ".yaml";

/* ---- where it goes ---- */

static bool is_empty(const char *folder, struct fault *fault)
{
    struct folder_names names;
    AUTO(arena) arena = arena_new();
    aside_clean(text_print(arena, "%s/", folder).data); /* of a start that was killed */
    if (!folder_names_read(folder, &names))
        return fault_set(fault, FAULT_FILE, "%s: cannot be read: %s", folder, strerror(errno));
    bool empty = names.count == 0;
    if (!empty)
        fault_set(fault, FAULT_USAGE, "%s: is not empty (%s is in it); name a new folder", folder, names.names[0]);
    folder_names_free(&names);
    return empty;
}

/* Cuts the last part off a path and gives it. */
static const char *cut_last(char *path)
{
    char *slash = strrchr(path, '/');
    if (slash == NULL)
        return path;
    *slash = '\0';
    return slash + 1;
}

/* The real path of what is to hold the folder, with the folder's own name behind it. */
static char *real_path_of(const char *folder, bool is_there, struct fault *fault)
{
    if (is_there)
        return path_real(folder);
    char *copy = memory_copy_string(folder);
    const char *name = cut_last(copy), *before = name == copy ? "." : *copy == '\0' ? "/" : copy;
    char *parent = path_real(before), *path = NULL;
    if (parent != NULL && path_is_folder(parent))
        path = path_join(parent, name);
    else
        fault_set(fault, FAULT_FILE, "%s: no such folder to put %s into", before, name);
    memory_free(parent);
    memory_free(copy);
    return path;
}

static bool is_id(const char *name, struct fault *fault)
{
    struct cell cell;
    const char *why;
    if (cell_parse(&kind_of(KIND_TESTS)->columns[COL(TESTS, analyzer)], text_of(name), &cell, &why))
        return true;
    return fault_set(fault, FAULT_USAGE, "%s: the folder's name becomes the site's id: %s", name, why);
}

static char *program_of(const char *parent)
{
    char *path = memory_copy_string(parent);
    if (strcmp(cut_last(path), "sites") == 0) {
        char *settings = path_join(*path != '\0' ? path : "/", "program.yaml");
        bool there = file_exists(settings);
        memory_free(settings);
        if (there)
            return path;
    }
    memory_free(path);
    return NULL;
}

bool starter_place_read(const char *path, struct starter_place **out, struct fault *fault)
{
    *out = NULL;
    AUTO(starter_place) place = memory_new(sizeof *place);
    place->folder = memory_copy_string(path);
    for (size_t size = strlen(path); size > 1 && path[size - 1] == '/'; size--)
        place->folder[size - 1] = '\0';
    struct stat status;
    bool there = lstat(place->folder, &status) == 0;
    place->is_there = path_is_folder(place->folder);
    if (*place->folder == '\0')
        return fault_set(fault, FAULT_USAGE, "the name of the folder is empty");
    if (there && !place->is_there)
        return fault_set(fault, FAULT_USAGE, "%s: is no folder", place->folder);
    if (place->is_there && !is_empty(place->folder, fault))
        return false;
    place->parent = real_path_of(place->folder, place->is_there, fault);
    if (place->parent == NULL)
        return fault_set(fault, FAULT_FILE, "%s: cannot be read: %s", place->folder, strerror(errno));
    place->name = memory_copy_string(cut_last(place->parent));
    if (!is_id(place->name, fault))
        return false;
    if (!text_equal(text_trim(text_of(place->name)), text_of(place->name)))
        return fault_set(fault, FAULT_USAGE,
                         "'%s': the folder's name becomes the site's id, which has no blank around it", place->name);
    if (place->name[0] == '.')
        return fault_set(fault, FAULT_USAGE, "%s: a hidden folder is passed over", place->name);
    place->program = program_of(place->parent);
    *out = place;
    place = NULL;
    return true;
}

void starter_place_free(struct starter_place *place)
{
    if (place == NULL)
        return;
    memory_free(place->folder);
    memory_free(place->parent);
    memory_free(place->name);
    memory_free(place->program);
    memory_free(place);
}

/* ---- methods ---- */

const char *const *starter_methods(struct arena *arena, const char *folder, struct fault *fault)
{
    struct folder_names files;
    if (!folder_names_read_any(folder, &files, fault))
        return NULL;
    const char **names = arena_take(arena, (files.count + 1) * sizeof *names);
    size_t count = 0, ending = sizeof method_ending - 1;
    for (size_t i = 0; i < files.count; i++) {
        size_t size = strlen(files.names[i]);
        if (size > ending && strcmp(files.names[i] + size - ending, method_ending) == 0 &&
            !name_is_by_product(files.names[i]))
            names[count++] = text_string(arena, (struct text){files.names[i], size - ending});
    }
    names[count] = NULL;
    folder_names_free(&files);
    return names;
}

bool starter_lists(const char *const *names, const char *name)
{
    for (; *names != NULL; names++)
        if (strcmp(*names, name) == 0)
            return true;
    return false;
}

/* ---- writing ---- */

static bool write_bytes(const char *path, const char *bytes, size_t size, struct fault *fault)
{
    struct output *output;
    if (!output_file(&output, path, fault))
        return false;
    output_bytes(output, bytes, size);
    return output_close(output, fault);
}

static bool copy_file(const char *from, const char *to, struct fault *fault)
{
    struct file_bytes file;
    bool ok = file_read(from, NULL, &file, fault) && write_bytes(to, file.data, file.size, fault);
    memory_free(file.data);
    return ok;
}

/* In double quotes, where a backslash stands before a quote or a backslash (YAML 1.2, 7.3.1). */
static void put_quoted(struct output *output, const char *word)
{
    output_print(output, "\"");
    for (; *word != '\0'; word++)
        output_print(output, *word == '"' || *word == '\\' ? "\\%c" : "%c", *word);
    output_print(output, "\"");
}

static void put_menu(struct output *output, const char *const *menu)
{
    output_print(output, "[");
    for (size_t i = 0; menu[i] != NULL; i++)
        output_print(output, "%s%s", i > 0 ? ", " : "", menu[i]);
    output_print(output, "]");
}

/* The template with two values put in: what stands behind `site: ` up to the comment's column, and the menu. */
static void fill_line(const struct starter *starter, struct text line, struct output *output)
{
    static const char site[] = "site: ", menu[] = "menu: ";
    const char *comment = memchr(line.data, '#', line.size);
    size_t column = comment != NULL ? (size_t)(comment - line.data) : line.size, from = output_taken(output).size;
    bool is_site = text_starts(line, site), is_menu = text_starts(line, menu);
    if (!is_site && !is_menu) {
        output_text(output, line);
        return;
    }
    output_print(output, "%s", is_site ? site : menu);
    if (is_site)
        put_quoted(output, starter->place->name);
    else
        put_menu(output, starter->menu);
    if (comment == NULL)
        return;
    do
        output_print(output, " ");
    while (output_taken(output).size - from < column);
    output_bytes(output, comment, line.size - column);
}

static bool write_settings(const struct starter *starter, const char *path, struct fault *fault)
{
    struct file_bytes file;
    if (!file_read(starter->template, NULL, &file, fault))
        return false;
    AUTO(output) filled = output_memory();
    for (const char *line = file.data, *end = file.data + file.size; line < end;) {
        const char *stop = memchr(line, '\n', (size_t)(end - line));
        size_t size = (size_t)((stop != NULL ? stop : end) - line);
        fill_line(starter, (struct text){line, size}, filled);
        output_print(filled, "\n");
        line += size + 1;
    }
    memory_free(file.data);
    struct text whole = output_taken(filled);
    return write_bytes(path, whole.data, whole.size, fault);
}

static bool write_log(const char *folder, const struct record_kind *kind, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct output *output;
    if (!output_file(&output, text_print(arena, "%s/records/%s.csv", folder, kind->name).data, fault))
        return false;
    for (size_t i = 0; i < kind->column_count; i++)
        csv_cell(output, i == 0, text_of(kind->columns[i].name));
    csv_row_end(output);
    return output_close(output, fault);
}

static bool write_all(const struct starter *starter, const char *folder, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    bool ok = write_settings(starter, text_print(arena, "%s/site.yaml", folder).data, fault);
    for (size_t i = 0; ok && starter->copied[i] != NULL; i++) {
        struct text from = text_print(arena, "%s/%s%s", starter->methods, starter->copied[i], method_ending);
        struct text to = text_print(arena, "%s/methods/%s%s", folder, starter->copied[i], method_ending);
        ok = copy_file(from.data, to.data, fault);
    }
    for (int i = 0; ok && i < KIND_COUNT; i++)
        ok = write_log(folder, kind_of((enum kind_id)i), fault);
    return ok;
}

/* ---- putting it in place ---- */

/* An empty folder that is there is kept, as it may be linked to, mounted, or the one in which someone stands. What
 * makes a site of it, site.yaml, comes last. */
static bool move_into(const char *aside, const char *folder, struct fault *fault)
{
    static const char *const parts[] = {"methods", "records", "site.yaml"};
    AUTO(arena) arena = arena_new();
    bool moved[sizeof parts / sizeof *parts] = {false}; /* another process may have put its own there */
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        struct text from = text_print(arena, "%s/%s", aside, parts[i]),
                    to = text_print(arena, "%s/%s", folder, parts[i]);
        moved[i] = rename(from.data, to.data) == 0;
        if (moved[i] || (errno == ENOENT && !file_exists(from.data)))
            continue;
        fault_set(fault, FAULT_FILE, "%s: cannot be made: %s", to.data, strerror(errno));
        while (i-- > 0)
            if (moved[i])
                aside_remove(text_print(arena, "%s/%s", folder, parts[i]).data);
        return false;
    }
    aside_remove(aside);
    return true;
}

static bool move_to(const char *aside, const char *folder, struct fault *fault)
{
    return rename(aside, folder) == 0 ||
           fault_set(fault, FAULT_FILE, "%s: cannot be made: %s", folder, strerror(errno));
}

bool starter_write(const struct starter *starter, struct fault *fault)
{
    const struct starter_place *place = starter->place;
    AUTO(arena) arena = arena_new();
    /* Hidden, so that an audit of the program does not meet it; on the same disk, so that it can be renamed. */
    struct text stem = place->is_there ? text_print(arena, "%s/", place->folder)
                                       : text_print(arena, "%s/.%s", place->parent, place->name);
    aside_clean(stem.data);
    char *name = aside_name(stem.data);
    struct text aside = text_keep(arena, text_of(name));
    memory_free(name);
    if (mkdir(aside.data, 0777) != 0)
        return fault_set(fault, FAULT_FILE, "%s: cannot be made: %s", place->folder, strerror(errno));
    bool made = write_all(starter, aside.data, fault);
    made = made && (place->is_there ? move_into : move_to)(aside.data, place->folder, fault);
    if (!made)
        aside_remove(aside.data);
    return made;
}
