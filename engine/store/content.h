/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The bytes of a log, and the digests by which a load knows them again. */
#ifndef ASSIZE_STORE_CONTENT_H
#define ASSIZE_STORE_CONTENT_H

#include "intake/file.h"
#include "store/lists.h"

/* Reads the file below the site's folder; the caller frees the bytes. Where it cannot be read, file->refused says why.
 */
bool content_read(const char *site_path, const struct lists *lists, struct kept_file *file, struct file_bytes *bytes);

/* The digest of a file's content as read by this engine: a kind that gains a column is read anew. `known` is that of
 * its first `size` bytes. */
void content_digest(const struct record_kind *kind, const struct file_bytes *bytes, size_t size,
                    unsigned char known[DIGEST_SIZE], unsigned char out[DIGEST_SIZE]);

#endif
