/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the current records of a site and kind stand, as digests: one for each span of 32 days of their events, so that
 * a load reads again only the spans that it changed. They are kept in the table `standing`; the link LINK_PLACES is
 * over all of them. */
#ifndef ASSIZE_STORE_STANDING_H
#define ASSIZE_STORE_STANDING_H

#include "store/update.h"

struct span {
    int64_t number;          /* 0 for kinds without an event */
    int64_t records, last_n; /* how many, and the highest number among them */
    unsigned char digest[DIGEST_SIZE];
};

/* Collects records, which come in the order of event and n, into spans; each goes to `take` when it is whole. */
struct spans {
    const struct record_kind *kind;
    bool (*take)(void *context, const struct span *span);
    void *context;
    struct span span; /* at hand; it has records */
    struct stream stream;
};
bool spans_add(struct spans *spans, int64_t at, int64_t n, int64_t file, int64_t line); /* false: take was */
bool spans_end(struct spans *spans); /* the last one is whole; frees what they hold */

void stream_span(struct stream *stream, const struct span *span);
/* Out of a query's columns from `first` on: span, records, last_n, digest. */
struct span span_read(struct query *query, int first);

/* How many records of the kind the site has, and the highest number among them: by the table, unless a schema before 4
 * loaded them. */
bool standing_count(const struct gathering *gathering, struct update_queries *queries, struct update *update,
                    struct fault *fault);

/* The table after update_write has changed the records, and its link. */
bool standing_write(const struct gathering *gathering, struct update_queries *queries, const struct update *update,
                    struct links *links, struct fault *fault);

#endif
