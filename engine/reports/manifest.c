/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/manifest.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/output.h"
#include "intake/folder.h"
#include "reports/reports.h"

enum { PATH_SIZE = 4096, HEX_SIZE = 64 };

static bool digest_file(const char *folder, const char *file, char hex[DIGEST_HEX_SIZE], struct fault *fault)
{
    struct file_bytes bytes;
    unsigned char digest[DIGEST_SIZE];
    char *path = path_join(folder, file);
    bool read = file_read(path, NULL, &bytes, fault);
    memory_free(path);
    if (!read)
        return false;
    digest_of(bytes.data, bytes.size, digest);
    digest_hex(digest, hex);
    memory_free(bytes.data);
    return true;
}

static const char *const source_words[MANIFEST_SOURCE_COUNT] = {"rule ", "settings "};

static bool print_files(const char *folder, const struct manifest_contents *contents, struct output *output,
                        struct fault *fault)
{
    char hex[DIGEST_HEX_SIZE];
    for (size_t i = 0; i < contents->file_count; i++) {
        if (!digest_file(folder, contents->files[i], hex, fault))
            return false;
        output_print(output, "%s  %s\n", hex, contents->files[i]);
    }
    return true;
}

bool manifest_write(const char *folder, const struct manifest_contents *contents, struct fault *fault)
{
    char *path = path_join(folder, "manifest.txt");
    AUTO(output) output = NULL;
    bool opened = output_file(&output, path, fault);
    memory_free(path);
    if (!opened || !print_files(folder, contents, output, fault))
        return false;
    for (size_t i = 0; i < contents->chain_head_count; i++)
        output_print(output, "chain %.*s\n", TEXT_FORMAT(contents->chain_heads[i]));
    for (int source = 0; source < MANIFEST_SOURCE_COUNT; source++)
        for (size_t i = 0; i < contents->sources[source].count; i++) {
            const struct named_digest *digest = &contents->sources[source].digests[i];
            output_print(output, "%s%s %.*s\n", source_words[source], digest->hex, TEXT_FORMAT(digest->name));
        }
    struct output *whole = output;
    output = NULL;
    return output_close(whole, fault);
}

/* ---- reading ---- */

enum line_kind { LINE_FILE, LINE_CHAIN, LINE_SOURCE, LINE_OTHER };

struct manifest { /* its lines, one by one */
    struct file_bytes bytes;
    size_t at, line;
    char hex[DIGEST_HEX_SIZE];   /* of the last line */
    char file[PATH_SIZE];        /* of a LINE_FILE */
    enum manifest_source source; /* of a LINE_SOURCE */
    struct text name;            /* its id or path */
};

static bool manifest_open(const char *folder, struct manifest *manifest, struct fault *fault)
{
    char *path = path_join(folder, "manifest.txt");
    *manifest = (struct manifest){0};
    bool read = file_read(path, NULL, &manifest->bytes, fault);
    memory_free(path);
    return read;
}

static bool is_hex(struct text text)
{
    for (size_t i = 0; i < text.size; i++)
        if (!(text.data[i] >= '0' && text.data[i] <= '9') && !(text.data[i] >= 'a' && text.data[i] <= 'f'))
            return false;
    return text.size == HEX_SIZE;
}

static struct text text_behind(struct text text, size_t size)
{
    size_t cut = text.size < size ? text.size : size;
    return (struct text){text.data + cut, text.size - cut};
}

static struct text text_front(struct text text, size_t size)
{
    return (struct text){text.data, text.size < size ? text.size : size};
}

/* Takes the hash that `rest` begins with. */
static bool take_hex(struct manifest *manifest, struct text rest)
{
    struct text hex = text_front(rest, HEX_SIZE);
    if (!is_hex(hex))
        return false;
    memcpy(manifest->hex, hex.data, HEX_SIZE);
    manifest->hex[HEX_SIZE] = '\0';
    return true;
}

/* Neither out of the folder nor a second spelling of a file in it: "/a", "../a", "./a", "a//b". */
static bool is_plain(struct text path)
{
    char before = '/';
    for (size_t i = 0; i < path.size; before = path.data[i++])
        if (path.data[i] == '\0' || (before == '/' && (path.data[i] == '/' || path.data[i] == '.')))
            return false;
    return before != '/';
}

static bool take_file(struct manifest *manifest, struct text rest)
{
    struct text file = text_behind(rest, 2);
    if (!text_starts(rest, "  ") || file.size >= PATH_SIZE || !is_plain(file))
        return false;
    memcpy(manifest->file, file.data, file.size);
    manifest->file[file.size] = '\0';
    return true;
}

static bool take_source(struct manifest *manifest, struct text line)
{
    for (int source = 0; source < MANIFEST_SOURCE_COUNT; source++) {
        if (!text_starts(line, source_words[source]))
            continue;
        struct text hex = text_behind(line, strlen(source_words[source])), rest = text_behind(hex, HEX_SIZE);
        manifest->source = (enum manifest_source)source;
        manifest->name = text_behind(rest, 1);
        return take_hex(manifest, hex) && text_starts(rest, " ") && manifest->name.size > 0;
    }
    return false;
}

static enum line_kind kind_of_line(struct manifest *manifest, struct text line)
{
    if (text_starts(line, "chain ") && line.size == 6 + HEX_SIZE && take_hex(manifest, text_behind(line, 6)))
        return LINE_CHAIN;
    if (take_source(manifest, line))
        return LINE_SOURCE;
    return take_hex(manifest, line) && take_file(manifest, text_behind(line, HEX_SIZE)) ? LINE_FILE : LINE_OTHER;
}

static bool next_line(struct manifest *manifest, enum line_kind *kind)
{
    if (manifest->at >= manifest->bytes.size)
        return false;
    const char *data = manifest->bytes.data + manifest->at;
    size_t left = manifest->bytes.size - manifest->at;
    const char *end = memchr(data, '\n', left);
    struct text line = {data, end != NULL ? (size_t)(end - data) : left};
    manifest->at += line.size + 1;
    manifest->line++;
    *kind = kind_of_line(manifest, line);
    return true;
}

/* ---- what is the report's own ---- */

static bool is_plain_file(const char *path)
{
    struct stat status;
    return lstat(path, &status) == 0 && S_ISREG(status.st_mode);
}

static bool is_own(const char *folder, const struct manifest *manifest, bool *own, struct fault *fault)
{
    char now[DIGEST_HEX_SIZE], *path = path_join(folder, manifest->file);
    const char *why;
    bool candidate = is_plain_file(path) && path_is_inside(path, folder, &why);
    memory_free(path);
    *own = false;
    if (!candidate)
        return true;
    if (!digest_file(folder, manifest->file, now, fault))
        return false;
    *own = strcmp(manifest->hex, now) == 0;
    return true;
}

/* Only a report's has nothing but the lines that are written here, and names a store. */
static bool is_of_report(struct manifest *manifest)
{
    size_t lines[LINE_OTHER + 1] = {0};
    enum line_kind kind;
    while (next_line(manifest, &kind))
        lines[kind]++;
    manifest->at = manifest->line = 0;
    return lines[LINE_FILE] > 0 && lines[LINE_CHAIN] > 0 && lines[LINE_OTHER] == 0;
}

static bool add_own(const char *folder, struct manifest *manifest, struct names *own, struct fault *fault)
{
    enum line_kind kind;
    bool fits;
    names_add(own, TEXT("manifest.txt"));
    while (next_line(manifest, &kind)) {
        if (kind != LINE_FILE)
            continue;
        if (!is_own(folder, manifest, &fits, fault))
            return false;
        if (fits)
            names_add(own, text_of(manifest->file));
    }
    return true;
}

bool manifest_own_files(const char *folder, const char *listed_in, struct names *own, struct fault *fault)
{
    struct manifest manifest;
    char *path = path_join(listed_in, "manifest.txt");
    bool is_file = is_plain_file(path);
    memory_free(path);
    if (!is_file)
        return true;
    if (!manifest_open(listed_in, &manifest, fault))
        return false;
    bool read = !is_of_report(&manifest) || add_own(folder, &manifest, own, fault);
    memory_free(manifest.bytes.data);
    return read;
}

/* ---- verifying ---- */

static void check_file(const char *folder, const struct manifest *manifest, struct manifest_check *out)
{
    char now[DIGEST_HEX_SIZE];
    struct fault gone = {.code = FAULT_NONE};
    const char *what = NULL;
    if (!digest_file(folder, manifest->file, now, &gone))
        what = "is gone or cannot be read";
    else if (strcmp(manifest->hex, now) != 0)
        what = "was changed after the report was written";
    out->files++;
    out->whole = what == NULL;
    if (what != NULL)
        snprintf(out->first_break, sizeof out->first_break, "%.400s: %s", manifest->file, what);
}

/* A page of a report that stands in the folder, which no line lists. */
static void check_listed(const char *folder, const struct names *listed, const char *below,
                         const struct report_format *formats, struct manifest_check *out)
{
    for (; out->whole && formats->file != NULL; formats++) {
        char *file = *below == '\0' ? memory_copy_string(formats->file) : path_join(below, formats->file);
        char *path = path_join(folder, file);
        out->whole = names_find(listed, text_of(file)) != 0 || !file_exists(path);
        if (!out->whole)
            snprintf(out->first_break, sizeof out->first_break, "%.400s: is not listed in manifest.txt", file);
        memory_free(path);
        memory_free(file);
    }
}

/* A site's pages lie in a folder of its name. */
static void check_all_listed(const char *folder, const struct names *listed, struct manifest_check *out)
{
    struct folder_names below;
    check_listed(folder, listed, "", audit_formats, out);
    if (!folder_names_read(folder, &below))
        return;
    for (size_t i = 0; out->whole && i < below.count; i++)
        check_listed(folder, listed, below.names[i], site_formats, out);
    folder_names_free(&below);
}

bool manifest_verify(const char *folder, struct manifest_check *out, struct fault *fault)
{
    struct manifest manifest;
    enum line_kind kind;
    AUTO(names) listed = names_new();
    *out = (struct manifest_check){.whole = true};
    if (!manifest_open(folder, &manifest, fault))
        return false;
    while (out->whole && next_line(&manifest, &kind)) {
        if (kind == LINE_FILE) {
            names_add(listed, text_of(manifest.file));
            check_file(folder, &manifest, out);
        } else if (kind == LINE_OTHER) {
            out->whole = false;
            snprintf(out->first_break, sizeof out->first_break, "manifest.txt:%zu: no line of a manifest",
                     manifest.line);
        }
    }
    if (out->whole && out->files == 0) {
        out->whole = false;
        snprintf(out->first_break, sizeof out->first_break, "manifest.txt: lists no file");
    }
    check_all_listed(folder, listed, out);
    memory_free(manifest.bytes.data);
    return true;
}

bool manifest_heads(const char *folder, manifest_head_function *function, void *context, struct fault *fault)
{
    struct manifest manifest;
    enum line_kind kind;
    if (!manifest_open(folder, &manifest, fault))
        return false;
    while (next_line(&manifest, &kind))
        if (kind == LINE_CHAIN)
            function(context, manifest.hex);
    memory_free(manifest.bytes.data);
    return true;
}

bool manifest_sources(const char *folder, enum manifest_source source, manifest_source_function *function,
                      void *context, struct fault *fault)
{
    struct manifest manifest;
    enum line_kind kind;
    if (!manifest_open(folder, &manifest, fault))
        return false;
    while (next_line(&manifest, &kind)) {
        struct named_digest digest = {.name = manifest.name};
        memcpy(digest.hex, manifest.hex, sizeof digest.hex);
        if (kind == LINE_SOURCE && manifest.source == source)
            function(context, &digest);
    }
    memory_free(manifest.bytes.data);
    return true;
}
