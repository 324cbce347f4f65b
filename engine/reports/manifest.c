/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/manifest.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/digest.h"
#include "base/output.h"
#include "intake/folder.h"

enum { PATH_SIZE = 4096, HEX_SIZE = 64 };

static bool file_digest(const char *path, char hex[DIGEST_HEX_SIZE], struct fault *fault) {
    struct file_bytes bytes;
    unsigned char digest[DIGEST_SIZE];
    if (!file_read(path, NULL, &bytes, fault)) return false;
    digest_of(bytes.data, bytes.size, digest);
    digest_hex(digest, hex);
    memory_free(bytes.data);
    return true;
}

static void join(char path[PATH_SIZE], const char *folder, const char *file) {
    snprintf(path, PATH_SIZE, "%s/%s", folder, file);
}

bool manifest_write(const char *folder, const char *const *files, size_t count, const char *chain_head,
                    const struct manifest_rule *rules, size_t rule_count, struct fault *fault) {
    char path[PATH_SIZE], hex[DIGEST_HEX_SIZE];
    struct output *output;
    join(path, folder, "manifest.txt");
    if (!output_file(&output, path, fault)) return false;
    for (size_t i = 0; i < count; i++) {
        join(path, folder, files[i]);
        if (!file_digest(path, hex, fault)) {
            output_free(output);
            return false;
        }
        output_print(output, "%s  %s\n", hex, files[i]);
    }
    output_print(output, "chain %s\n", chain_head);
    for (size_t i = 0; i < rule_count; i++) output_print(output, "rule %s %.*s\n", rules[i].sha256, TEXT_FORMAT(rules[i].id));
    return output_close(output, fault);
}

struct manifest { /* the lines of a manifest, one by one */
    struct file_bytes bytes;
    size_t at;
};

static bool manifest_open(const char *folder, struct manifest *manifest, struct fault *fault) {
    char path[PATH_SIZE];
    join(path, folder, "manifest.txt");
    manifest->at = 0;
    return file_read(path, NULL, &manifest->bytes, fault);
}

/* The next file that it lists; a path that leads out of the folder is none. */
static bool next_file(struct manifest *manifest, char hex[DIGEST_HEX_SIZE], char file[PATH_SIZE]) {
    while (manifest->at < manifest->bytes.size) {
        const char *line = manifest->bytes.data + manifest->at;
        const char *end = memchr(line, '\n', manifest->bytes.size - manifest->at);
        size_t size = end ? (size_t)(end - line) : manifest->bytes.size - manifest->at;
        manifest->at += size + 1;
        if (size <= HEX_SIZE + 2 || size - HEX_SIZE - 2 >= PATH_SIZE || memcmp(line + HEX_SIZE, "  ", 2) != 0) continue;
        memcpy(hex, line, HEX_SIZE);
        hex[HEX_SIZE] = '\0';
        memcpy(file, line + HEX_SIZE + 2, size - HEX_SIZE - 2);
        file[size - HEX_SIZE - 2] = '\0';
        if (*file != '/' && !strstr(file, "..")) return true;
    }
    return false;
}

void manifest_remove_old(const char *folder, const char *const *keep, size_t count) {
    char path[PATH_SIZE], hex[DIGEST_HEX_SIZE], file[PATH_SIZE];
    struct manifest manifest;
    struct fault none = {0};
    if (!manifest_open(folder, &manifest, &none)) return; /* there is no older report */
    while (next_file(&manifest, hex, file)) {
        bool kept = false;
        for (size_t i = 0; i < count; i++) kept = kept || !strcmp(keep[i], file);
        join(path, folder, file);
        if (!kept) unlink(path);
    }
    memory_free(manifest.bytes.data);
}

bool manifest_verify(const char *folder, bool *whole, char first_break[512], struct fault *fault) {
    char path[PATH_SIZE], hex[DIGEST_HEX_SIZE], now[DIGEST_HEX_SIZE], file[PATH_SIZE];
    struct manifest manifest;
    *whole = true;
    *first_break = '\0';
    if (!manifest_open(folder, &manifest, fault)) return false;
    while (*whole && next_file(&manifest, hex, file)) {
        struct fault gone = {0};
        join(path, folder, file);
        if (!file_digest(path, now, &gone))
            snprintf(first_break, 512, "%.400s: is gone or cannot be read", file);
        else if (strcmp(hex, now) != 0)
            snprintf(first_break, 512, "%.400s: was changed after the report was written", file);
        *whole = !*first_break;
    }
    memory_free(manifest.bytes.data);
    return true;
}
