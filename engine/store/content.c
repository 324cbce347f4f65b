/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/content.h"

void content_digest(const struct record_kind *kind, const struct file_bytes *bytes, size_t size,
                    unsigned char known[DIGEST_SIZE], unsigned char out[DIGEST_SIZE])
{
    AUTO(digest) digest = digest_new();
    for (size_t i = 0; i < kind->column_count; i++) {
        const struct column *column = &kind->columns[i];
        char traits[2] = {(char)column->type, (char)column->flags};
        digest_add(digest, column->name, strlen(column->name) + 1);
        digest_add(digest, traits, sizeof traits);
        for (size_t j = 0; column->words != NULL && column->words[j] != NULL; j++)
            digest_add(digest, column->words[j], strlen(column->words[j]) + 1);
    }
    digest_add(digest, bytes->data, size);
    if (size < bytes->size)
        digest_so_far(digest, known);
    digest_add(digest, bytes->data + size, bytes->size - size);
    digest_end(digest, out);
    if (size == bytes->size)
        memcpy(known, out, DIGEST_SIZE);
}

/* "PATH: reason" without the path, which stands before every refusal anyway. */
static const char *reason_of(const struct fault *fault, const char *path)
{
    size_t size = strlen(path);
    bool begins = strncmp(fault->text, path, size) == 0 && fault->text[size] == ':' && fault->text[size + 1] == ' ';
    return begins ? fault->text + size + 2 : fault->text;
}

bool content_read(const char *site_path, const struct lists *lists, struct kept_file *file, struct file_bytes *bytes)
{
    struct fault fault = {.code = FAULT_NONE};
    char *path = path_join(site_path, file->path.data);
    bool read = file_read(path, site_path, bytes, &fault);
    if (!read)
        file->refused = text_keep(lists->arena, text_of(reason_of(&fault, path)));
    memory_free(path);
    return read;
}
