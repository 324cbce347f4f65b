/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Settings from files: which there are, their digests, and what they say. */
#include <stdlib.h>
#include <string.h>

#include "intake/file.h"
#include "intake/settings_inside.h"

#define PROGRAM "../../" /* before a file of the program's, as seen from a site's folder */

/* ---- what there is to read ---- */

struct sources {
    struct settings_source *all;
    size_t count, capacity;
    struct arena *arena;
};

static bool add_source(struct sources *sources, const char *path, const char *file, struct fault *fault)
{
    struct file_bytes bytes;
    if (!file_read(path, NULL, &bytes, fault))
        return false;
    VECTOR_GROW(sources->all, sources->count, sources->capacity);
    sources->all[sources->count++] =
        (struct settings_source){text_string(sources->arena, text_of(path)), text_string(sources->arena, text_of(file)),
                                 text_keep(sources->arena, (struct text){bytes.data, bytes.size}).data, bytes.size};
    memory_free(bytes.data);
    return true;
}

static bool stands_already(const struct sources *sources, size_t count, const char *name)
{
    for (size_t i = 1; i < count; i++) {
        const char *slash = strrchr(sources->all[i].file, '/');
        if (slash != NULL && strcmp(slash + 1, name) == 0)
            return true;
    }
    return false;
}

static bool add_method(struct sources *sources, const char *folder, const char *name, const char *file_prefix,
                       struct fault *fault)
{
    struct text path = text_print(sources->arena, "%s/%s", folder, name);
    struct text file = text_print(sources->arena, "%smethods/%s", file_prefix, name);
    if (text_ends(text_of(name), ".yaml") && strcmp(strrchr(name, '.'), ".yaml") == 0)
        return add_source(sources, path.data, file.data, fault);
    if (text_ends(text_of(name), ".yaml") || text_ends(text_of(name), ".yml"))
        return fault_set(fault, FAULT_SETTINGS, "%s:1: the name of a method file ends in .yaml", path.data);
    return true;
}

/* The method files of a folder, without those that stand already: a site's own goes before the program's. */
static bool add_methods(struct sources *sources, const char *folder, const char *file_prefix, struct fault *fault)
{
    struct text path = text_print(sources->arena, "%s/methods", folder);
    struct folder_names names;
    size_t before = sources->count;
    bool ok = folder_names_read_any(path.data, &names, fault);
    for (size_t i = 0; ok && i < names.count; i++)
        if (!name_is_by_product(names.names[i]) && !stands_already(sources, before, names.names[i]))
            ok = add_method(sources, path.data, names.names[i], file_prefix, fault);
    folder_names_free(&names);
    return ok;
}

static int by_file(const void *a, const void *b)
{
    return strcmp(((const struct settings_source *)a)->file, ((const struct settings_source *)b)->file);
}

/* What a site's settings are read from: site.yaml, then the method files. */
static bool add_site(struct sources *sources, const struct folder *folder, const struct site_place *place,
                     struct fault *fault)
{
    struct text path = text_print(sources->arena, "%s/site.yaml", place->path);
    bool ok = add_source(sources, path.data, "site.yaml", fault) && add_methods(sources, place->path, "", fault) &&
              (folder->program_path == NULL || add_methods(sources, folder->program_path, PROGRAM, fault));
    if (ok && sources->count > 2)
        qsort(sources->all + 1, sources->count - 1, sizeof *sources->all, by_file);
    return ok;
}

static bool add_program(struct sources *sources, const struct folder *folder, struct fault *fault)
{
    struct text path = text_print(sources->arena, "%s/program.yaml", folder->program_path);
    return add_source(sources, path.data, PROGRAM "program.yaml", fault);
}

bool settings_of_program(struct text *file)
{
    const size_t size = strlen(PROGRAM);
    if (!text_starts(*file, PROGRAM))
        return false;
    *file = (struct text){file->data + size, file->size - size};
    return true;
}

/* Named as seen from the program's folder, if there is one; `site` is NULL for a lone one. */
static struct named_digest digest_source(const struct settings_source *source, const char *site, struct arena *arena)
{
    struct named_digest named = {.name = text_of(source->file)};
    unsigned char digest[DIGEST_SIZE];
    if (!settings_of_program(&named.name) && site != NULL)
        named.name = text_print(arena, "sites/%s/%s", site, source->file);
    digest_of(source->bytes, source->size, digest);
    digest_hex(digest, named.hex);
    return named;
}

/* ---- reading it ---- */

static bool read_site(const struct sources *sources, const struct site_place *place, struct site_settings *out,
                      struct fault *fault)
{
    if (!settings_parse_site(sources->all, sources->count, sources->arena, out, fault))
        return false;
    if (place->name != NULL && !text_is(out->site, place->name))
        return fault_set(fault, FAULT_SETTINGS, "%s:%u: site: %.*s: must be the name of the folder, %s",
                         sources->all[0].shown, out->where.line, TEXT_FORMAT(out->site), place->name);
    out->files = arena_take(sources->arena, sources->count * sizeof *out->files);
    for (size_t i = 0; i < sources->count; i++)
        out->files[out->file_count++] = digest_source(&sources->all[i], place->name, sources->arena);
    return true;
}

bool settings_read_site(const struct folder *folder, const struct site_place *place, struct arena *arena,
                        struct site_settings *out, struct fault *fault)
{
    struct sources sources = {.arena = arena};
    bool ok = add_site(&sources, folder, place, fault) && read_site(&sources, place, out, fault);
    memory_free(sources.all);
    return ok;
}

static bool read_program(const struct settings_source *source, struct arena *arena, struct program_settings *out,
                         struct fault *fault)
{
    static const struct field keys[] = {
        {.key = "program", .type = FIELD_ID, .required = true, .at = offsetof(struct program_settings, program)},
        {.key = "name", .type = FIELD_TEXT, .at = offsetof(struct program_settings, name)},
        {.key = "policy", .type = FIELD_READ, .read = read_policy, .at = offsetof(struct program_settings, policy)},
        {0}};
    struct fields fields = {.fault = fault};
    const struct node *root;
    if (!parse_source(source, arena, &fields, &root) || !fields_read(&fields, root, "", keys, out))
        return false;
    if (out->name.data == NULL)
        out->name = out->program;
    out->file = digest_source(source, NULL, arena);
    return true;
}

bool settings_read_program(const struct folder *folder, struct arena *arena, struct program_settings *out,
                           struct fault *fault)
{
    struct sources sources = {.arena = arena};
    *out = (struct program_settings){0};
    if (folder->program_path == NULL)
        return true;
    bool ok = add_program(&sources, folder, fault) && read_program(&sources.all[0], arena, out, fault);
    memory_free(sources.all);
    return ok;
}

struct named_digest *settings_files(const struct folder *folder, struct arena *arena, size_t *count)
{
    struct named_digest *files = NULL;
    size_t capacity = 0;
    *count = 0;
    for (size_t i = 0; i <= folder->site_count; i++) {
        const struct site_place *place = i < folder->site_count ? &folder->sites[i] : NULL;
        struct sources sources = {.arena = arena};
        struct fault unread = {.code = FAULT_NONE};
        bool read = place != NULL ? add_site(&sources, folder, place, &unread)
                                  : folder->program_path != NULL && add_program(&sources, folder, &unread);
        for (size_t j = 0; read && j < sources.count; j++) {
            VECTOR_GROW(files, *count, capacity);
            files[(*count)++] = digest_source(&sources.all[j], place != NULL ? place->name : NULL, arena);
        }
        memory_free(sources.all);
    }
    *count = named_digests_sort(files, *count);
    return files;
}
