/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The chain: what each load did, as digests, and the heads that join them.
 *
 * A load leaves links: a digest for each site and kind of the versions it took, of those it ended, and of where the
 * current ones stand; for each site of the lists of files, refusals and warnings, when they changed; and one of the
 * names it brought. The head of a load is the SHA-256 of the head before it, its number and day, and its links in their
 * order. The rows themselves are hashed as a stream, in large blocks. store_verify makes all of these again from the
 * tables. */
#ifndef ASSIZE_STORE_CHAIN_H
#define ASSIZE_STORE_CHAIN_H

#include "base/digest.h"
#include "store/bytes.h"
#include "store/sql.h"

enum link_part {
    LINK_TAKEN = 1, /* versions that began with the load: in the order of event and n */
    LINK_ENDED,     /* versions that ended with it: in the order of n */
    LINK_PLACES,    /* n, file and line of all current versions after it: in the order of event and n; since schema 4
                       the digests of their spans (standing.h) */
    LINK_FILES,     /* the lists of a site (kind 0) after it */
    LINK_REFUSALS,
    LINK_WARNINGS,
    LINK_NAMES,  /* those that came with it (site and kind 0) */
    LINK_AUDITS, /* the audits kept (site, kind and load 0): the only link that is replaced */
};

struct link {
    int64_t site, kind; /* names; 0 */
    enum link_part part;
    unsigned char digest[DIGEST_SIZE];
};

struct links {
    struct link *items;
    size_t count, capacity;
};

void links_add(struct links *links, int64_t site, int64_t kind, enum link_part part,
               const unsigned char digest[DIGEST_SIZE]);
void links_free(struct links *links);
/* Brings them into the order of the chain: site, kind, part. */
void links_sort(struct links *links);

/* `head` is that of the load before, and becomes that of this one. */
void chain_head(unsigned char head[DIGEST_SIZE], int64_t load, int64_t day, const struct links *links);

/* A digest over items, collected in `block` and hashed when that is large. */
struct stream {
    struct digest *digest;
    struct bytes block;
    uint64_t items;
};
void stream_item(struct stream *stream);                                /* an item has been appended to stream->block */
void stream_end(struct stream *stream, unsigned char out[DIGEST_SIZE]); /* and starts anew */
void stream_free(struct stream *stream);
#define AUTO_STREAM __attribute__((cleanup(stream_free))) struct stream

/* The items. `row` is a packed row. */
void stream_taken(struct stream *stream, int64_t n, const void *row, size_t size);
void stream_place(struct stream *stream, int64_t n, int64_t file, int64_t line);

struct ended_version {
    int64_t n, begun, at; /* `at`: of its event; see row_at */
    bool followed;        /* by another version, whose event is `next`; else it was withdrawn */
    int64_t next;
    int64_t file, line;
    struct text row; /* packed; absent: the gap between a withdrawal and the return of the record */
};
void stream_ended(struct stream *stream, const struct ended_version *version);
void stream_name(struct stream *stream, int64_t name, struct text text);

#endif
