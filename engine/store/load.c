/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "store/load.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "store/telling.h"

struct loading {
    struct store *store;
    int64_t load; /* its number, if it changes anything */
    day_number today;
    struct update_queries queries;
    struct links links;
    struct telling telling;
    struct fault *fault;
};

/* ---- dated ahead ---- */

/* A mistyped year: nothing that happens has a later day than today, and no audit sees it before that day. */
static bool report_ahead(struct loading *loading, const struct load_site *site, const struct layout *layout)
{
    const struct record_kind *kind = layout->kind;
    char event[64], sql[200], at[MOMENT_TEXT_SIZE], today[DAY_TEXT_SIZE];
    day_number first = loading->today + 2; /* it may be tomorrow elsewhere */
    struct query **ahead = &loading->queries.kinds[kind->id].ahead;
    if (kind->event_column < 0)
        return true;
    bool is_day = kind->columns[kind->event_column].type == CELL_DATE;
    layout_event(layout, event);
    snprintf(sql, sizeof sql, "SELECT count(*), min(%s), file, line FROM \"%s\" WHERE site = ? AND %s >= ?", event,
             kind->name, event);
    if (*ahead == NULL)
        *ahead = query_new(&loading->store->database, loading->fault, sql);
    if (*ahead == NULL)
        return false;
    query_bind(*ahead, "ii", (int64_t)names_find(loading->store->names, site->site),
               is_day ? (int64_t)first : moment_make(first * INT64_C(86400), false));
    enum query_step step = query_step(*ahead, loading->fault);
    if (step == QUERY_ROW && query_whole(*ahead, 0) > 0) {
        AUTO(arena) arena = arena_new();
        if (is_day)
            day_print((day_number)query_whole(*ahead, 1), at);
        else
            moment_print(query_whole(*ahead, 1), at);
        day_print(loading->today, today);
        tell_warning(&loading->telling, site->site,
                     text_print(arena,
                                "%.*s:%" PRId64 ": %s: %s: later than the day of this load, %s: no audit sees it "
                                "before; such entries of this kind: %" PRId64,
                                TEXT_FORMAT(store_name(loading->store, query_whole(*ahead, 2))), query_whole(*ahead, 3),
                                kind->columns[kind->event_column].name, at, today, query_whole(*ahead, 0)));
    }
    query_bind(*ahead, "");
    return step != QUERY_FAILED;
}

/* ---- a kind at a site ---- */

/* A file that the folder refuses is not opened. True if it was not refused so before. */
static bool is_refusal_new(const struct kept_file *file, const struct kept_file *was)
{
    return was == NULL || !text_equal(file->refused, was->refused);
}

/* Reads the kind's files; what is known of them is not parsed. True if anything is other than at the load
 * before. */
static bool gather_changed(struct gathering *gathering, struct lists *was)
{
    const struct record_kind *kind = gathering->layout->kind;
    struct lists *lists = gathering->lists;
    bool changed = false;
    for (size_t i = 0; i < lists->count; i++) {
        struct kept_file *file = &lists->files[i];
        if (file->kind != kind)
            continue;
        struct kept_file *before = lists_find(was, file->path);
        if (file->refused.data == NULL)
            gather_file(gathering, i, before);
        changed = changed || (file->refused.data != NULL ? is_refusal_new(file, before) : file->is_parsed);
    }
    for (size_t i = 0; i < was->count && !gathering->lacks_files; i++)
        gathering->lacks_files = was->files[i].kind == kind && lists_find(lists, was->files[i].path) == NULL;
    return changed || gathering->lacks_files;
}

static void gather_again(struct gathering *gathering, const bool *must_parse)
{
    for (size_t i = 0; i < gathering->lists->count; i++)
        if (must_parse[i])
            gather_file(gathering, i, NULL);
}

static void gather_unsettled(struct gathering *gathering)
{
    const struct lists *lists = gathering->lists;
    for (size_t i = 0; i < lists->count; i++) {
        const struct kept_file *file = &lists->files[i];
        if (file->kind == gathering->layout->kind && !file->is_parsed && !file->settled && file->refused.data == NULL)
            gather_file(gathering, i, NULL);
    }
}

/* Until no row's key stands among rows that were not parsed: each turn parses at least one file more as a whole. */
static bool find_update(struct loading *loading, struct gathering *gathering, struct update *update)
{
    bool *must_parse = memory_new(gathering->lists->count * sizeof *must_parse);
    bool again, done;
    do {
        update_free(update);
        gather_compare(gathering);
        memset(must_parse, 0, gathering->lists->count * sizeof *must_parse);
        done = update_find(gathering, &loading->queries, update, must_parse, &again, loading->fault);
        if (done && again)
            gather_again(gathering, must_parse);
    } while (done && again);
    memory_free(must_parse);
    return done;
}

static bool load_kind(struct loading *loading, const struct load_site *site, const struct layout *layout,
                      struct lists *lists, struct lists *was)
{
    AUTO_GATHERING gathering = {0};
    AUTO_UPDATE update = {0};
    gathering_start(&gathering, loading->store, layout, lists, site->place->path);
    if (!gather_changed(&gathering, was))
        return true;
    gather_unsettled(&gathering);
    if (!find_update(loading, &gathering, &update))
        return false;
    gather_tell(&gathering);
    if (!update_write(&gathering, &loading->queries, &update, loading->load, &loading->links, loading->fault))
        return false;
    tell_update(&loading->telling, layout->kind, &update);
    tell_early(&loading->telling, site->site, lists, &update);
    return true;
}

/* ---- a site ---- */

static void list_logs(struct store *store, const struct site_place *place, struct lists *lists)
{
    for (size_t i = 0; i < place->log_count; i++) {
        const struct log_file *log = &place->logs[i];
        struct kept_file *file = lists_add(lists);
        file->path = text_keep(lists->arena, text_of(log->path));
        file->path_name = names_add(store->names, file->path);
        file->kind = log->kind;
        file->refused = text_keep(lists->arena, text_of(log->refused));
        file->is_parsed = file->is_parsed_whole = log->refused != NULL;
    }
}

static bool load_site(struct loading *loading, const struct load_site *site)
{
    struct store *store = loading->store;
    int64_t name = names_add(store->names, site->site);
    AUTO_LISTS was = {0};
    AUTO_LISTS lists = {.arena = arena_new(), .site = name};
    if (!lists_read(store, name, &was, loading->fault))
        return false;
    list_logs(store, site->place, &lists);
    for (size_t k = 0; k < KIND_COUNT; k++)
        if (!load_kind(loading, site, &store->layouts[k], &lists, &was))
            return false;
    if (!lists_write(store, &lists, &loading->links, loading->fault))
        return false;
    tell_site(&loading->telling, site, &lists);
    for (size_t k = 0; k < KIND_COUNT; k++)
        if (!report_ahead(loading, site, &store->layouts[k]))
            return false;
    return true;
}

/* ---- the load ---- */

static bool write_names(struct loading *loading)
{
    struct store *store = loading->store;
    if (store->names_stored == names_count(store->names))
        return true;
    AUTO(query) put = query_new(&store->database, loading->fault, "INSERT INTO names VALUES(?, ?, ?)");
    if (put == NULL)
        return false;
    AUTO_STREAM stream = {0};
    for (uint32_t name = store->names_stored + 1; name <= names_count(store->names); name++) {
        struct text text = names_text(store->names, name);
        stream_name(&stream, name, text);
        if (!query_put(put, loading->fault, "iti", (int64_t)name, text, loading->load))
            return false;
    }
    unsigned char digest[DIGEST_SIZE];
    stream_end(&stream, digest);
    links_add(&loading->links, 0, 0, LINK_NAMES, digest);
    return true;
}

static bool write_links(struct loading *loading)
{
    AUTO(query) put = query_new(&loading->store->database, loading->fault, "INSERT INTO links VALUES(?, ?, ?, ?, ?)");
    if (put == NULL)
        return false;
    for (size_t i = 0; i < loading->links.count; i++) {
        const struct link *link = &loading->links.items[i];
        if (!query_put(put, loading->fault, "iiiib", link->site, link->kind, (int64_t)link->part, loading->load,
                       (const void *)link->digest, (size_t)DIGEST_SIZE))
            return false;
    }
    return true;
}

static bool write_load(struct loading *loading, unsigned char head[DIGEST_SIZE])
{
    AUTO(query) put = query_new(&loading->store->database, loading->fault, "INSERT INTO loads VALUES(?, ?, ?)");
    if (put == NULL || !write_names(loading))
        return false;
    links_sort(&loading->links);
    if (!write_links(loading))
        return false;
    chain_head(head, loading->load, loading->today, &loading->links);
    char hex[DIGEST_HEX_SIZE];
    digest_hex(head, hex);
    return query_put(put, loading->fault, "iit", loading->load, (int64_t)loading->today, text_of(hex));
}

/* A clock that was turned back must not date a change into a month that was audited. */
static void keep_days_in_order(struct loading *loading)
{
    char today[DAY_TEXT_SIZE], last[DAY_TEXT_SIZE];
    day_number last_day = loading->store->last_day;
    if (last_day == DAY_ABSENT || loading->today >= last_day)
        return;
    day_print(loading->today, today);
    day_print(last_day, last);
    AUTO(arena) arena = arena_new();
    struct text text =
        text_print(arena, "this load's day, %s, lies before that of the last one: it counts as of %s", today, last);
    tell_warning(&loading->telling, (struct text){0}, text);
    loading->today = last_day;
}

static bool load_sites(struct loading *loading, const struct load_site *sites, size_t count,
                       const struct progress *progress)
{
    struct store *store = loading->store;
    unsigned char head[DIGEST_SIZE];
    memcpy(head, store->head, DIGEST_SIZE);
    for (size_t i = 0; i < count; i++)
        if (!progress_step(progress, "loading sites", i, count, loading->fault) || !load_site(loading, &sites[i]))
            return false;
    bool changes = loading->links.count > 0;
    if (changes && !write_load(loading, head))
        return false;
    update_queries_free(&loading->queries); /* none may be open when a new store gets its name */
    if (!store_commit(store, loading->fault))
        return false;
    if (changes) {
        store->last_load = loading->load;
        store->last_day = loading->today;
        memcpy(store->head, head, DIGEST_SIZE);
        store->names_stored = names_count(store->names);
    }
    loading->telling.report->day = loading->today;
    store_head(store, loading->telling.report->head);
    return true;
}

bool store_load(struct store *store, const struct load_site *sites, size_t site_count, day_number today,
                const struct progress *progress, struct load_report **out, struct fault *fault)
{
    if (!store_begin(store, fault))
        return false;
    struct loading loading = {
        .store = store,
        .load = store->last_load + 1,
        .today = today,
        .telling = {.report = memory_new(sizeof(struct load_report)), .names_sites = site_count > 1},
        .fault = fault,
    };
    keep_days_in_order(&loading);
    bool done = load_sites(&loading, sites, site_count, progress);
    update_queries_free(&loading.queries);
    links_free(&loading.links);
    if (done) {
        *out = loading.telling.report;
        return true;
    }
    store_roll_back(store);
    load_report_free(loading.telling.report);
    return false;
}
