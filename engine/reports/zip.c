/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/zip.h"

#include <stdio.h>
#include <string.h>
#include <zlib.h>

enum {
    NAME_MOST = 64,
    NEEDS_VERSION = 20, /* to be read: deflated files */
    DEFLATED = 8,
    FIRST_DAY = 1 << 5 | 1, /* 1 January 1980 */
    PIECE = 65536,
};

struct entry {
    char name[NAME_MOST];
    uint32_t check, packed, size, at; /* CRC-32, sizes, place of its head in the archive */
};

struct zip {
    struct output *out;
    uint64_t written; /* to `out` */
    struct entry *entries;
    size_t count, capacity;
    bool is_open, is_too_large;
    z_stream stream;       /* of the last file, while it is open */
    struct output *packed; /* what came of it so far */
    uint64_t size;
};

struct zip *zip_new(struct output *output)
{
    struct zip *zip = memory_new(sizeof *zip);
    zip->out = output;
    return zip;
}

void zip_free(struct zip *zip)
{
    if (zip == NULL)
        return;
    if (zip->is_open)
        deflateEnd(&zip->stream);
    output_free(zip->packed);
    memory_free(zip->entries);
    memory_free(zip);
}

/* ---- numbers, least byte first ---- */

static void put_bytes(struct zip *zip, const void *bytes, size_t size)
{
    output_bytes(zip->out, bytes, size);
    zip->written += size;
}

static void put_number(struct zip *zip, uint32_t number, size_t size)
{
    unsigned char bytes[4];
    for (size_t i = 0; i < size; i++)
        bytes[i] = (unsigned char)(number >> 8 * i);
    put_bytes(zip, bytes, size);
}

static void put_2(struct zip *zip, uint32_t number) { put_number(zip, number, 2); }
static void put_4(struct zip *zip, uint32_t number) { put_number(zip, number, 4); }

/* What a file's head and its line in the list have in common. */
static void put_entry(struct zip *zip, const struct entry *entry)
{
    put_2(zip, NEEDS_VERSION);
    put_2(zip, 0); /* flags */
    put_2(zip, DEFLATED);
    put_2(zip, 0); /* midnight */
    put_2(zip, FIRST_DAY);
    put_4(zip, entry->check);
    put_4(zip, entry->packed);
    put_4(zip, entry->size);
    put_2(zip, (uint32_t)strlen(entry->name));
    put_2(zip, 0); /* no more fields */
}

/* ---- files ---- */

/* Takes all that is to be read; with Z_FINISH also all that the compressor has kept back. */
static void squeeze(struct zip *zip, int how)
{
    unsigned char piece[PIECE];
    do {
        zip->stream.next_out = piece;
        zip->stream.avail_out = sizeof piece;
        deflate(&zip->stream, how); /* fails only where it is called out of turn */
        output_bytes(zip->packed, piece, sizeof piece - zip->stream.avail_out);
    } while (zip->stream.avail_out == 0);
}

static void end_file(struct zip *zip)
{
    if (!zip->is_open)
        return;
    struct entry *entry = &zip->entries[zip->count - 1];
    squeeze(zip, Z_FINISH);
    deflateEnd(&zip->stream);
    zip->is_open = false;
    struct text packed = output_taken(zip->packed);
    if (zip->size > UINT32_MAX || zip->written + packed.size > UINT32_MAX)
        zip->is_too_large = true;
    entry->size = (uint32_t)zip->size;
    entry->packed = (uint32_t)packed.size;
    entry->at = (uint32_t)zip->written;
    put_4(zip, 0x04034b50);
    put_entry(zip, entry);
    put_bytes(zip, entry->name, strlen(entry->name));
    put_bytes(zip, packed.data, packed.size);
}

void zip_file(struct zip *zip, const char *name)
{
    end_file(zip);
    VECTOR_GROW(zip->entries, zip->count, zip->capacity);
    struct entry *entry = &zip->entries[zip->count++];
    *entry = (struct entry){.check = (uint32_t)crc32(0, NULL, 0)};
    snprintf(entry->name, sizeof entry->name, "%s", name);
    output_free(zip->packed);
    zip->packed = output_memory();
    zip->size = 0;
    zip->stream = (z_stream){0};
    deflateInit2(&zip->stream, Z_DEFAULT_COMPRESSION, Z_DEFLATED, -MAX_WBITS, MAX_MEM_LEVEL - 1, Z_DEFAULT_STRATEGY);
    zip->is_open = true;
}

void zip_put(struct zip *zip, struct text bytes)
{
    enum { MOST = 1 << 30 };
    struct entry *entry = &zip->entries[zip->count - 1];
    zip->size += bytes.size;
    while (bytes.size > 0) {
        uInt size = bytes.size < MOST ? (uInt)bytes.size : MOST;
        zip->stream.next_in = (z_const Bytef *)bytes.data;
        zip->stream.avail_in = size;
        entry->check = (uint32_t)crc32(entry->check, (const Bytef *)bytes.data, size);
        squeeze(zip, Z_NO_FLUSH);
        bytes = (struct text){bytes.data + size, bytes.size - size};
    }
}

bool zip_end(struct zip *zip, struct fault *fault)
{
    end_file(zip);
    uint64_t list = zip->written;
    for (size_t i = 0; i < zip->count; i++) {
        const struct entry *entry = &zip->entries[i];
        put_4(zip, 0x02014b50);
        put_2(zip, NEEDS_VERSION); /* it was made by */
        put_entry(zip, entry);
        put_2(zip, 0); /* no comment */
        put_2(zip, 0); /* the first disk */
        put_2(zip, 0); /* attributes */
        put_4(zip, 0);
        put_4(zip, entry->at);
        put_bytes(zip, entry->name, strlen(entry->name));
    }
    uint64_t list_size = zip->written - list;
    put_4(zip, 0x06054b50);
    put_2(zip, 0); /* this disk, and the one of the list */
    put_2(zip, 0);
    put_2(zip, (uint32_t)zip->count);
    put_2(zip, (uint32_t)zip->count);
    put_4(zip, (uint32_t)list_size);
    put_4(zip, (uint32_t)list);
    put_2(zip, 0); /* no comment */
    if (zip->is_too_large || list > UINT32_MAX)
        return fault_set(fault, FAULT_FILE, "the archive is too large: it may have 4 GiB");
    return true;
}
