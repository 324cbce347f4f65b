/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/standing.h"

#include <stdlib.h>

/* ---- spans ---- */

enum { SPAN_DAYS = 32 };

/* How far apart the events at the beginning of two spans are. */
static int64_t span_size(const struct record_kind *kind)
{
    bool has_time = kind->event_column >= 0 && kind->columns[kind->event_column].type == CELL_TIME;
    return has_time ? moment_make(SPAN_DAYS * INT64_C(86400), false) : SPAN_DAYS;
}

static int64_t span_of(const struct record_kind *kind, int64_t at) { return at / span_size(kind); }

static bool spans_give(struct spans *spans)
{
    if (spans->span.records == 0)
        return true;
    stream_end(&spans->stream, spans->span.digest);
    struct span span = spans->span;
    spans->span = (struct span){0};
    return spans->take(spans->context, &span);
}

bool spans_add(struct spans *spans, int64_t at, int64_t n, int64_t file, int64_t line)
{
    int64_t number = span_of(spans->kind, at);
    if (number != spans->span.number && !spans_give(spans))
        return false;
    spans->span.number = number;
    spans->span.records++;
    if (n > spans->span.last_n)
        spans->span.last_n = n;
    stream_place(&spans->stream, n, file, line);
    return true;
}

bool spans_end(struct spans *spans)
{
    bool done = spans_give(spans);
    stream_free(&spans->stream);
    return done;
}

void stream_span(struct stream *stream, const struct span *span)
{
    bytes_number(&stream->block, number_fold(span->number));
    bytes_number(&stream->block, number_fold(span->records));
    bytes_number(&stream->block, number_fold(span->last_n));
    bytes_block(&stream->block, span->digest, DIGEST_SIZE);
    stream_item(stream);
}

struct span span_read(struct query *query, int first)
{
    struct span span = {.number = query_whole(query, first)};
    span.records = query_whole(query, first + 1);
    span.last_n = query_whole(query, first + 2);
    struct text digest = query_blob(query, first + 3);
    if (digest.size == DIGEST_SIZE)
        memcpy(span.digest, digest.data, DIGEST_SIZE);
    return span;
}

/* ---- the table ---- */

static struct query *prepared(const struct gathering *gathering, struct query **query, const char *sql,
                              struct fault *fault)
{
    if (*query == NULL)
        *query = query_new(&gathering->store->database, fault, sql);
    return *query;
}

static bool take_count(struct query *query, struct update *update, bool *any, struct fault *fault)
{
    enum query_step step = query_step(query, fault);
    if (step == QUERY_ROW) {
        *any = !query_null(query, 1);
        update->records = query_whole(query, 0);
        update->last_n = query_whole(query, 1);
    }
    query_bind(query, "");
    return step == QUERY_ROW;
}

static bool count_in_table(const struct gathering *gathering, struct update *update, struct fault *fault)
{
    AUTO(output) sql = output_memory();
    output_print(sql, "SELECT count(*), max(n) FROM \"%s\" WHERE site = ?", gathering->layout->kind->name);
    AUTO(query) query = query_new(&gathering->store->database, fault, output_string(sql));
    if (query == NULL)
        return false;
    query_bind(query, "i", gathering->lists->site);
    return take_count(query, update, &update->lacks_standing, fault);
}

bool standing_count(const struct gathering *gathering, struct update_queries *queries, struct update *update,
                    struct fault *fault)
{
    bool any;
    struct query *query = prepared(gathering, &queries->standing_count,
                                   "SELECT sum(records), max(last_n) FROM standing WHERE site = ? AND kind = ?", fault);
    if (query == NULL)
        return false;
    query_bind(query, "ii", gathering->lists->site, (int64_t)gathering->layout->kind_name);
    return take_count(query, update, &any, fault) && (any || count_in_table(gathering, update, fault));
}

struct writing {
    const struct gathering *gathering;
    struct update_queries *queries;
    struct fault *fault;
};

static bool put_span(void *context, const struct span *span)
{
    const struct writing *writing = context;
    struct query *put = prepared(writing->gathering, &writing->queries->standing_put,
                                 "INSERT OR REPLACE INTO standing(site, kind, span, records, last_n, digest)"
                                 " VALUES(?, ?, ?, ?, ?, ?)",
                                 writing->fault);
    return put != NULL && query_put(put, writing->fault, "iiiiib", writing->gathering->lists->site,
                                    (int64_t)writing->gathering->layout->kind_name, span->number, span->records,
                                    span->last_n, (const void *)span->digest, (size_t)DIGEST_SIZE);
}

/* The records that a first load has just written. */
static bool put_new(struct writing *writing)
{
    const struct gathering *gathering = writing->gathering;
    struct spans spans = {.kind = gathering->layout->kind, .take = put_span, .context = writing};
    bool done = true;
    for (size_t i = 0; done && i < gathering->count; i++) {
        const struct gathered_row *row = &gathering->rows[i];
        struct row_view view = row_view(row);
        done = spans_add(&spans, row->at, row->n, gathering->lists->files[view.file].path_name, view.line);
    }
    return spans_end(&spans) && done;
}

static struct query *places_query(struct writing *writing)
{
    const struct layout *layout = writing->gathering->layout;
    struct query **query = &writing->queries->kinds[layout->kind->id].places;
    char name[64];
    const char *event = layout_event(layout, name);
    AUTO(output) sql = output_memory();
    output_print(sql, "SELECT %s, n, file, line FROM \"%s\" WHERE site = ? AND %s >= ? AND %s < ? ORDER BY site, ",
                 event, layout->kind->name, event, event);
    output_print(sql, "%s%sn", layout->kind->event_column >= 0 ? event : "",
                 layout->kind->event_column >= 0 ? ", " : "");
    return prepared(writing->gathering, query, output_string(sql), writing->fault);
}

/* Those with events from `from` to before `to`, out of the table. */
static bool put_stored(struct writing *writing, int64_t from, int64_t to)
{
    const struct gathering *gathering = writing->gathering;
    struct spans spans = {.kind = gathering->layout->kind, .take = put_span, .context = writing};
    struct query *query = places_query(writing);
    if (query == NULL)
        return false;
    query_bind(query, "iii", gathering->lists->site, from, to);
    bool done = true;
    enum query_step step = QUERY_END;
    while (done && (step = query_step(query, writing->fault)) == QUERY_ROW)
        done = spans_add(&spans, query_whole(query, 0), query_whole(query, 1), query_whole(query, 2),
                         query_whole(query, 3));
    done = spans_end(&spans) && done;
    query_bind(query, "");
    return done && step == QUERY_END;
}

static bool put_again(struct writing *writing, int64_t span)
{
    const struct gathering *gathering = writing->gathering;
    int64_t size = span_size(gathering->layout->kind);
    struct query *remove = prepared(gathering, &writing->queries->standing_remove,
                                    "DELETE FROM standing WHERE site = ? AND kind = ? AND span = ?", writing->fault);
    return remove != NULL &&
           query_put(remove, writing->fault, "iii", gathering->lists->site, (int64_t)gathering->layout->kind_name,
                     span) &&
           put_stored(writing, span * size, span < INT64_MAX / size ? (span + 1) * size : INT64_MAX);
}

/* ---- spans that changed ---- */

struct numbers {
    int64_t *items;
    size_t count, capacity;
};

static void add_number(struct numbers *numbers, int64_t number)
{
    if (numbers->count > 0 && numbers->items[numbers->count - 1] == number)
        return; /* most events come in order */
    VECTOR_GROW(numbers->items, numbers->count, numbers->capacity);
    numbers->items[numbers->count++] = number;
}

static int compare_numbers(const void *left, const void *right)
{
    int64_t a = *(const int64_t *)left, b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

static bool put_changed(struct writing *writing, const struct update *update)
{
    const struct gathering *gathering = writing->gathering;
    const struct record_kind *kind = gathering->layout->kind;
    struct numbers changed = {0};
    for (size_t i = 0; i < update->ended_count; i++)
        add_number(&changed, span_of(kind, update->ended[i].at));
    for (size_t i = 0; i < update->moved_count; i++)
        add_number(&changed, span_of(kind, update->moved[i].at));
    for (size_t i = 0; i < gathering->count; i++)
        add_number(&changed, span_of(kind, gathering->rows[i].at));
    if (changed.count > 0)
        qsort(changed.items, changed.count, sizeof *changed.items, compare_numbers);
    bool done = true;
    for (size_t i = 0; done && i < changed.count; i++)
        if (i == 0 || changed.items[i] != changed.items[i - 1])
            done = put_again(writing, changed.items[i]);
    memory_free(changed.items);
    return done;
}

/* ---- the link ---- */

static bool link_standing(struct writing *writing, struct links *links)
{
    const struct gathering *gathering = writing->gathering;
    struct query *query = prepared(gathering, &writing->queries->standing,
                                   "SELECT span, records, last_n, digest FROM standing WHERE site = ? AND kind = ?"
                                   " ORDER BY span",
                                   writing->fault);
    if (query == NULL)
        return false;
    query_bind(query, "ii", gathering->lists->site, (int64_t)gathering->layout->kind_name);
    AUTO_STREAM stream = {0};
    enum query_step step;
    while ((step = query_step(query, writing->fault)) == QUERY_ROW) {
        struct span span = span_read(query, 0);
        stream_span(&stream, &span);
    }
    query_bind(query, "");
    unsigned char digest[DIGEST_SIZE];
    stream_end(&stream, digest);
    links_add(links, gathering->lists->site, gathering->layout->kind_name, LINK_PLACES, digest);
    return step == QUERY_END;
}

bool standing_write(const struct gathering *gathering, struct update_queries *queries, const struct update *update,
                    struct links *links, struct fault *fault)
{
    struct writing writing = {gathering, queries, fault};
    if (gathering->count + update->ended_count + update->moved_count == 0)
        return true;
    bool done = update->records == 0     ? put_new(&writing)
                : update->lacks_standing ? put_stored(&writing, INT64_MIN, INT64_MAX)
                                         : put_changed(&writing, update);
    return done && link_standing(&writing, links);
}
