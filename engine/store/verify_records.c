/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The records of a kind against their links. Five cursors walk side by side through the sites: current versions and
 * past ones by event and n (what loads took), past ones by n (what loads ended), the spans in which current ones stand,
 * and the links. */
#include <stdio.h>

#include "base/map.h"
#include "store/standing.h"
#include "store/verify.h"

/* What a load is found to have taken or ended, at the site at hand. */
struct tally {
    int64_t load;
    struct stream taken, ended;
};

/* A query and whether it stands on a row. */
struct cursor {
    struct query *query;
    enum query_step step;
};

struct kind_check {
    struct verifying *verifying;
    const struct layout *layout;
    struct cursor current, past, ends, spans, links;
    int64_t site;
    struct tally *tallies;
    size_t tally_count, tally_capacity;
    struct map *places;     /* by load: the tally's place + 1 */
    struct stream standing; /* n, file and line of the current versions: of their spans, or of all in one */
    struct spans found;     /* the spans, where the table `standing` has any */
    struct stream kept;     /* those of the table */
    bool has_spans;
    struct bytes packed;
};

/* ---- cursors ---- */

static bool cursor_open(struct kind_check *check, struct cursor *cursor, struct query *query, bool of_kind)
{
    *cursor = (struct cursor){query, QUERY_FAILED};
    if (query == NULL)
        return false;
    if (of_kind)
        query_bind(query, "i", (int64_t)check->layout->kind_name);
    cursor->step = query_step(query, check->verifying->fault);
    return cursor->step != QUERY_FAILED;
}

static void cursor_next(struct kind_check *check, struct cursor *cursor)
{
    cursor->step = query_step(cursor->query, check->verifying->fault);
}

/* The site that a cursor stands in, which is in its column `column`; a site beyond all at its end. */
static int64_t cursor_site(const struct cursor *cursor, int column)
{
    return cursor->step == QUERY_ROW ? query_whole(cursor->query, column) : INT64_MAX;
}

static struct query *current_query(struct verifying *verifying, const struct layout *layout)
{
    char event[64];
    AUTO(output) sql = output_memory();
    output_print(sql, "SELECT ");
    for (int place = 0; place < layout->count; place++)
        output_print(sql, "\"%s\", ", layout->kind->columns[layout->column_at[place]].name);
    output_print(sql, "n, file, line, load, site FROM \"%s\" ORDER BY site, ", layout->kind->name);
    if (layout->kind->event_column >= 0)
        output_print(sql, "%s, ", layout_event(layout, event));
    output_print(sql, "n");
    return query_new(&verifying->store->database, verifying->fault, output_string(sql));
}

/* A table that was dropped has no rows. */
static struct query *no_rows_query(struct verifying *verifying)
{
    return query_new(&verifying->store->database, verifying->fault, "SELECT 0 WHERE 0");
}

static struct query *spans_query(struct verifying *verifying)
{
    return query_new(&verifying->store->database, verifying->fault,
                     verifying->store->schema < 4 ? "SELECT 0 WHERE ? < 0"
                                                  : "SELECT site, span, records, last_n, digest FROM standing"
                                                    " WHERE kind = ? ORDER BY site, span");
}

static bool cursors_open(struct kind_check *check)
{
    struct verifying *verifying = check->verifying;
    const struct database *database = &verifying->store->database;
    struct query *current =
        check->layout->count > 0 ? current_query(verifying, check->layout) : no_rows_query(verifying);
    return cursor_open(check, &check->current, current, false) &&
           cursor_open(check, &check->past,
                       query_new(database, verifying->fault,
                                 "SELECT site, at, n, begun, row FROM history WHERE kind = ? AND row IS NOT NULL"
                                 " ORDER BY site, at, n, begun"),
                       true) &&
           cursor_open(check, &check->ends,
                       query_new(database, verifying->fault,
                                 "SELECT site, n, begun, ended, at, next, file, line, row FROM history WHERE kind = ?"
                                 " ORDER BY site, n, begun"),
                       true) &&
           cursor_open(check, &check->spans, spans_query(verifying), true) &&
           cursor_open(check, &check->links,
                       query_new(database, verifying->fault,
                                 "SELECT site, part, load, digest FROM links WHERE kind = ? ORDER BY site, load, part"),
                       true);
}

static void check_close(struct kind_check *check)
{
    query_free(check->current.query);
    query_free(check->past.query);
    query_free(check->ends.query);
    query_free(check->spans.query);
    query_free(check->links.query);
    memory_free(check->tallies);
    map_free(check->places);
    stream_free(&check->standing);
    stream_free(&check->kept);
    stream_free(&check->found.stream);
    bytes_free(&check->packed);
}

/* ---- versions ---- */

static struct tally *tally_of(struct kind_check *check, int64_t load)
{
    uint64_t *place = map_at(check->places, map_key((uint32_t)load, (uint32_t)((uint64_t)load >> 32), 0, 0, 0));
    if (*place == 0) {
        VECTOR_GROW(check->tallies, check->tally_count, check->tally_capacity);
        check->tallies[check->tally_count++] = (struct tally){.load = load};
        *place = check->tally_count;
    }
    return &check->tallies[*place - 1];
}

static bool take_span(void *context, const struct span *span)
{
    struct kind_check *check = context;
    stream_span(&check->standing, span);
    return true;
}

static void take_spans(struct kind_check *check)
{
    check->found = (struct spans){.kind = check->layout->kind, .take = take_span, .context = check};
    check->has_spans = cursor_site(&check->spans, 0) == check->site;
    while (cursor_site(&check->spans, 0) == check->site) {
        struct span span = span_read(check->spans.query, 1);
        stream_span(&check->kept, &span);
        cursor_next(check, &check->spans);
    }
}

static int64_t current_at(const struct kind_check *check)
{
    int event = check->layout->kind->event_column;
    return event >= 0 ? query_whole(check->current.query, check->layout->place_of[event]) : 0;
}

static void take_current(struct kind_check *check)
{
    const int first = check->layout->count;
    struct query *query = check->current.query;
    int64_t n = query_whole(query, first), load = query_whole(query, first + 3);
    check->packed.size = 0;
    if (!row_pack_sql(check->layout, query_statement(query), 0, &check->packed)) {
        struct text site = verify_site(check->verifying, check->site);
        break_found(check->verifying, load, "load %lld: %.*s, %s: a value was changed", (long long)load,
                    TEXT_FORMAT(site), check->layout->kind->name);
    }
    stream_taken(&tally_of(check, load)->taken, n, check->packed.data, check->packed.size);
    int64_t file = query_whole(query, first + 1), line = query_whole(query, first + 2);
    if (check->has_spans)
        spans_add(&check->found, current_at(check), n, file, line);
    else
        stream_place(&check->standing, n, file, line);
    check->verifying->report->versions++;
    cursor_next(check, &check->current);
}

static void take_past(struct kind_check *check)
{
    struct query *query = check->past.query;
    struct text row = query_blob(query, 4);
    stream_taken(&tally_of(check, query_whole(query, 3))->taken, query_whole(query, 2), row.data, row.size);
    check->verifying->report->versions++;
    cursor_next(check, &check->past);
}

/* Whether the current version stands before the past one, by event and n; one load takes at most one of them. */
static bool is_current_next(const struct kind_check *check)
{
    const struct layout *layout = check->layout;
    bool has_current = cursor_site(&check->current, layout->count + 4) == check->site;
    bool has_past = cursor_site(&check->past, 0) == check->site;
    if (!has_current || !has_past)
        return has_current;
    int64_t at = current_at(check);
    if (at != query_whole(check->past.query, 1))
        return at < query_whole(check->past.query, 1);
    return query_whole(check->current.query, layout->count) < query_whole(check->past.query, 2);
}

static void take_versions(struct kind_check *check)
{
    while (cursor_site(&check->current, check->layout->count + 4) == check->site ||
           cursor_site(&check->past, 0) == check->site) {
        if (is_current_next(check))
            take_current(check);
        else
            take_past(check);
    }
    spans_end(&check->found);
}

static void take_ends(struct kind_check *check)
{
    struct query *query = check->ends.query;
    while (cursor_site(&check->ends, 0) == check->site) {
        struct ended_version version = {
            .n = query_whole(query, 1),
            .begun = query_whole(query, 2),
            .at = query_whole(query, 4),
            .followed = !query_null(query, 5),
            .next = query_whole(query, 5),
            .file = query_whole(query, 6),
            .line = query_whole(query, 7),
            .row = query_blob(query, 8),
        };
        stream_ended(&tally_of(check, query_whole(query, 3))->ended, &version);
        cursor_next(check, &check->ends);
    }
}

/* ---- links ---- */

static void broken(struct kind_check *check, int64_t load, const char *what)
{
    struct text site = verify_site(check->verifying, check->site);
    break_found(check->verifying, load, "load %lld: %.*s, %s: %s", (long long)load, TEXT_FORMAT(site),
                check->layout->kind->name, what);
}

/* A stream that a link has been held against has no items any more. */
static void check_stream(struct kind_check *check, int64_t load, struct stream *stream, struct text digest,
                         const char *what)
{
    unsigned char found[DIGEST_SIZE];
    stream_end(stream, found);
    if (!text_equal(digest, (struct text){(const char *)found, DIGEST_SIZE}))
        broken(check, load, what);
}

static const char taken_differ[] = "the versions that it took are not those in the table or in history";
static const char ended_differ[] = "the versions that it ended are not those in history";
static const char standing_differs[] = "the table standing was changed since";
static const char places_differ[] = "a record's file or line was changed since";

static void check_links(struct kind_check *check)
{
    struct query *query = check->links.query;
    unsigned char places[DIGEST_SIZE];
    bool has_places = false;
    int64_t last_places = 0;
    while (cursor_site(&check->links, 0) == check->site) {
        int64_t part = query_whole(query, 1), load = query_whole(query, 2);
        struct text digest = query_blob(query, 3);
        if (part == LINK_TAKEN)
            check_stream(check, load, &tally_of(check, load)->taken, digest, taken_differ);
        else if (part == LINK_ENDED)
            check_stream(check, load, &tally_of(check, load)->ended, digest, ended_differ);
        else if (part == LINK_PLACES && digest.size == DIGEST_SIZE) {
            has_places = true;
            last_places = load;
            memcpy(places, digest.data, DIGEST_SIZE);
        }
        cursor_next(check, &check->links);
    }
    const struct text last = {(const char *)places, DIGEST_SIZE};
    if (has_places)
        check_stream(check, last_places, &check->standing, last, places_differ);
    if (has_places && check->has_spans)
        check_stream(check, last_places, &check->kept, last, standing_differs);
    if (!has_places && check->has_spans)
        broken(check, (int64_t)check->verifying->report->loads, standing_differs);
}

/* What is left has no link: no load took it, or ended it. */
static void check_tallies(struct kind_check *check)
{
    for (size_t i = 0; i < check->tally_count; i++) {
        struct tally *tally = &check->tallies[i];
        if (tally->taken.items > 0)
            broken(check, tally->load, taken_differ);
        if (tally->ended.items > 0)
            broken(check, tally->load, ended_differ);
        stream_free(&tally->taken);
        stream_free(&tally->ended);
    }
    check->tally_count = 0;
    map_free(check->places);
    check->places = map_new();
    stream_free(&check->standing);
    stream_free(&check->kept);
}

/* ---- a kind ---- */

static bool next_site(struct kind_check *check)
{
    const int64_t sites[] = {cursor_site(&check->current, check->layout->count + 4), cursor_site(&check->past, 0),
                             cursor_site(&check->ends, 0), cursor_site(&check->spans, 0),
                             cursor_site(&check->links, 0)};
    check->site = INT64_MAX;
    for (size_t i = 0; i < sizeof sites / sizeof *sites; i++)
        if (sites[i] < check->site)
            check->site = sites[i];
    return check->site != INT64_MAX;
}

static bool is_failed(const struct kind_check *check)
{
    return check->current.step == QUERY_FAILED || check->past.step == QUERY_FAILED ||
           check->ends.step == QUERY_FAILED || check->spans.step == QUERY_FAILED || check->links.step == QUERY_FAILED;
}

bool verify_kind(struct verifying *verifying, const struct layout *layout)
{
    struct kind_check check = {.verifying = verifying, .layout = layout, .places = map_new()};
    bool done = cursors_open(&check);
    while (done && next_site(&check)) {
        take_spans(&check);
        take_versions(&check);
        take_ends(&check);
        done = !is_failed(&check);
        if (done)
            check_links(&check);
        check_tallies(&check);
        done = done && !is_failed(&check);
    }
    check_close(&check);
    return done;
}

bool verify_strangers(struct verifying *verifying)
{
    AUTO(query)
    query = query_new(&verifying->store->database, verifying->fault,
                      verifying->store->schema < 4
                          ? "SELECT kind, load FROM links WHERE kind <> 0 UNION SELECT kind, begun FROM history"
                          : "SELECT kind, load FROM links WHERE kind <> 0 UNION SELECT kind, begun FROM history"
                            " UNION SELECT kind, (SELECT max(load) FROM loads) FROM standing");
    if (query == NULL)
        return false;
    enum query_step step;
    while ((step = query_step(query, verifying->fault)) == QUERY_ROW)
        if (store_layout_named(verifying->store, query_whole(query, 0)) == NULL)
            break_found(verifying, query_whole(query, 1),
                        "load %lld: the table links, history or standing names a kind that there is not",
                        (long long)query_whole(query, 1));
    return step == QUERY_END;
}
