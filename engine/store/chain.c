/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/chain.h"

#include <stdlib.h>

enum { BLOCK_SIZE = 8 * 1024 }; /* store_verify has one a load */

/* ---- links and heads ---- */

void links_add(struct links *links, int64_t site, int64_t kind, enum link_part part,
               const unsigned char digest[DIGEST_SIZE])
{
    VECTOR_GROW(links->items, links->count, links->capacity);
    struct link *link = &links->items[links->count++];
    *link = (struct link){.site = site, .kind = kind, .part = part};
    memcpy(link->digest, digest, DIGEST_SIZE);
}

void links_free(struct links *links)
{
    memory_free(links->items);
    *links = (struct links){0};
}

static int compare_whole(int64_t a, int64_t b) { return (a > b) - (a < b); }

static int compare_links(const void *left, const void *right)
{
    const struct link *a = left, *b = right;
    int order = compare_whole(a->site, b->site);
    if (order == 0)
        order = compare_whole(a->kind, b->kind);
    return order != 0 ? order : compare_whole(a->part, b->part);
}

void links_sort(struct links *links)
{
    if (links->count > 0)
        qsort(links->items, links->count, sizeof *links->items, compare_links);
}

void chain_head(unsigned char head[DIGEST_SIZE], int64_t load, int64_t day, const struct links *links)
{
    AUTO_BYTES bytes = {0};
    bytes_block(&bytes, head, DIGEST_SIZE);
    bytes_number(&bytes, number_fold(load));
    bytes_number(&bytes, number_fold(day));
    for (size_t i = 0; i < links->count; i++) {
        const struct link *link = &links->items[i];
        bytes_number(&bytes, number_fold(link->site));
        bytes_number(&bytes, number_fold(link->kind));
        bytes_number(&bytes, number_fold(link->part));
        bytes_block(&bytes, link->digest, DIGEST_SIZE);
    }
    digest_of(bytes.data, bytes.size, head);
}

/* ---- streams ---- */

static void stream_flush(struct stream *stream)
{
    if (stream->digest == NULL)
        stream->digest = digest_new();
    digest_add(stream->digest, stream->block.data, stream->block.size);
    stream->block.size = 0;
}

void stream_item(struct stream *stream)
{
    stream->items++;
    if (stream->block.size >= BLOCK_SIZE)
        stream_flush(stream);
}

void stream_end(struct stream *stream, unsigned char out[DIGEST_SIZE])
{
    stream_flush(stream);
    digest_end(stream->digest, out);
    stream->items = 0;
}

void stream_free(struct stream *stream)
{
    digest_free(stream->digest);
    bytes_free(&stream->block);
    *stream = (struct stream){0};
}

void stream_taken(struct stream *stream, int64_t n, const void *row, size_t size)
{
    bytes_number(&stream->block, number_fold(n));
    bytes_block(&stream->block, row, size);
    stream_item(stream);
}

void stream_place(struct stream *stream, int64_t n, int64_t file, int64_t line)
{
    bytes_number(&stream->block, number_fold(n));
    bytes_number(&stream->block, number_fold(file));
    bytes_number(&stream->block, number_fold(line));
    stream_item(stream);
}

void stream_ended(struct stream *stream, const struct ended_version *version)
{
    struct bytes *block = &stream->block;
    bytes_number(block, number_fold(version->n));
    bytes_number(block, number_fold(version->begun));
    bytes_number(block, number_fold(version->at));
    bytes_number(block, version->followed);
    bytes_number(block, number_fold(version->next));
    bytes_number(block, number_fold(version->file));
    bytes_number(block, number_fold(version->line));
    bytes_text(block, version->row);
    stream_item(stream);
}

void stream_name(struct stream *stream, int64_t name, struct text text)
{
    bytes_number(&stream->block, number_fold(name));
    bytes_text(&stream->block, text);
    stream_item(stream);
}
