/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Recomputes the chain: the heads from the links, then each link from the tables. Of all that does not fit, the break
 * of the earliest load is told. */
#include <stdarg.h>
#include <stdio.h>

#include "store/audits.h"
#include "store/lists.h"
#include "store/verify.h"

void break_found(struct verifying *verifying, int64_t load, const char *format, ...)
{
    struct chain_report *report = verifying->report;
    if (!report->whole && verifying->broken_load <= load)
        return;
    report->whole = false;
    verifying->broken_load = load;
    va_list values;
    va_start(values, format);
    vsnprintf(report->first_break, sizeof report->first_break, format, values);
    va_end(values);
}

struct text verify_site(const struct verifying *verifying, int64_t site)
{
    struct text name = store_name(verifying->store, site);
    return name.data != NULL ? name : TEXT("a site without a name");
}

/* ---- heads ---- */

struct link_row {
    int64_t load;
    struct link link;
    bool is_digest; /* false: the digest was changed to something else */
};

static enum query_step next_link(struct query *links, struct link_row *row, struct fault *fault)
{
    enum query_step step = query_step(links, fault);
    if (step != QUERY_ROW)
        return step;
    *row = (struct link_row){.load = query_whole(links, 0)};
    row->link = (struct link){.site = query_whole(links, 1), .kind = query_whole(links, 2)};
    row->link.part = (enum link_part)query_whole(links, 3);
    struct text digest = query_blob(links, 4);
    if (digest.size == DIGEST_SIZE)
        memcpy(row->link.digest, digest.data, DIGEST_SIZE);
    return step;
}

/* Takes the links of a load, and breaks at those of loads that are not there. */
static enum query_step collect_links(struct verifying *verifying, struct query *query, int64_t load,
                                     struct link_row *row, enum query_step step, struct links *links)
{
    links->count = 0;
    while (step == QUERY_ROW && row->load <= load) {
        if (row->load == load)
            links_add(links, row->link.site, row->link.kind, row->link.part, row->link.digest);
        else if (row->load != 0 || row->link.part != LINK_AUDITS)
            break_found(verifying, row->load, "links: a link of load %lld, which there is not", (long long)row->load);
        step = next_link(query, row, verifying->fault);
    }
    return step;
}

static void check_head(struct verifying *verifying, struct query *loads, int64_t expected, const struct links *links,
                       unsigned char head[DIGEST_SIZE])
{
    int64_t load = query_whole(loads, 0);
    char hex[DIGEST_HEX_SIZE];
    if (load != expected)
        break_found(verifying, expected, "load %lld is missing", (long long)expected);
    chain_head(head, load, query_whole(loads, 1), links);
    digest_hex(head, hex);
    if (!text_is(query_text(loads, 2), hex))
        break_found(verifying, load, "load %lld: its head does not follow from the load before and its links",
                    (long long)load);
}

static bool check_heads(struct verifying *verifying)
{
    const struct database *database = &verifying->store->database;
    AUTO(query) loads = query_new(database, verifying->fault, "SELECT load, day, head FROM loads ORDER BY load");
    AUTO(query)
    query = query_new(database, verifying->fault,
                      "SELECT load, site, kind, part, digest FROM links ORDER BY load, site, kind, part");
    if (loads == NULL || query == NULL)
        return false;
    unsigned char head[DIGEST_SIZE] = {0};
    struct links links = {0};
    struct link_row row;
    enum query_step link_step = next_link(query, &row, verifying->fault), step;
    while (link_step != QUERY_FAILED && (step = query_step(loads, verifying->fault)) == QUERY_ROW) {
        link_step = collect_links(verifying, query, query_whole(loads, 0), &row, link_step, &links);
        check_head(verifying, loads, (int64_t)++verifying->report->loads, &links, head);
    }
    link_step =
        link_step == QUERY_FAILED ? link_step : collect_links(verifying, query, INT64_MAX - 1, &row, link_step, &links);
    links_free(&links);
    return link_step != QUERY_FAILED && step == QUERY_END;
}

/* ---- single links ---- */

/* The latest link of a part, and its load; the digest of nothing, and 0, if there is none. */
static bool latest_link(struct verifying *verifying, int64_t site, enum link_part part,
                        unsigned char digest[DIGEST_SIZE], int64_t *load)
{
    AUTO(query)
    query = query_new(&verifying->store->database, verifying->fault,
                      "SELECT digest, load FROM links WHERE site = ? AND kind = 0 AND part = ?"
                      " ORDER BY load DESC LIMIT 1");
    if (query == NULL)
        return false;
    query_bind(query, "ii", site, (int64_t)part);
    enum query_step step = query_step(query, verifying->fault);
    *load = step == QUERY_ROW ? query_whole(query, 1) : 0;
    struct text stored = step == QUERY_ROW ? query_blob(query, 0) : (struct text){0};
    if (step == QUERY_ROW && stored.size == DIGEST_SIZE)
        memcpy(digest, stored.data, DIGEST_SIZE);
    else
        digest_of(NULL, 0, digest);
    return step != QUERY_FAILED;
}

/* A list without a link is blamed on the last load. */
static bool check_link(struct verifying *verifying, int64_t site, enum link_part part,
                       const unsigned char expected[DIGEST_SIZE], const char *table, bool *whole)
{
    unsigned char stored[DIGEST_SIZE];
    int64_t load;
    struct text name = verify_site(verifying, site);
    if (!latest_link(verifying, site, part, stored, &load))
        return false;
    *whole = memcmp(stored, expected, DIGEST_SIZE) == 0;
    if (load == 0)
        load = (int64_t)verifying->report->loads;
    if (!*whole)
        break_found(verifying, load, "load %lld: %.*s: the table %s was changed since", (long long)load,
                    TEXT_FORMAT(name), table);
    return true;
}

/* ---- names ---- */

static bool check_names_of(struct verifying *verifying, int64_t load, struct stream *stream)
{
    unsigned char expected[DIGEST_SIZE];
    stream_end(stream, expected);
    AUTO(query)
    query = query_new(&verifying->store->database, verifying->fault,
                      "SELECT digest FROM links WHERE site = 0 AND kind = 0 AND part = ? AND load = ?");
    if (query == NULL)
        return false;
    query_bind(query, "ii", (int64_t)LINK_NAMES, load);
    enum query_step step = query_step(query, verifying->fault);
    if (step == QUERY_END ||
        (step == QUERY_ROW && !text_equal(query_blob(query, 0), (struct text){(const char *)expected, DIGEST_SIZE})))
        break_found(verifying, load, "load %lld: the table names was changed since", (long long)load);
    return step != QUERY_FAILED;
}

/* A load that brought names of which none is left. */
static bool check_lost_names(struct verifying *verifying)
{
    AUTO(query)
    query = query_new(&verifying->store->database, verifying->fault,
                      "SELECT min(load) FROM links WHERE site = 0 AND kind = 0 AND part = ?"
                      " AND load NOT IN (SELECT load FROM names)");
    if (query == NULL)
        return false;
    query_bind(query, "i", (int64_t)LINK_NAMES);
    if (query_step(query, verifying->fault) != QUERY_ROW)
        return false;
    int64_t load = query_whole(query, 0);
    if (!query_null(query, 0))
        break_found(verifying, load, "load %lld: the table names was changed since", (long long)load);
    return true;
}

static bool check_names(struct verifying *verifying)
{
    AUTO(query)
    query = query_new(&verifying->store->database, verifying->fault,
                      "SELECT load, name, text FROM names ORDER BY load, name");
    if (query == NULL)
        return false;
    AUTO_STREAM stream = {0};
    int64_t load = 0;
    enum query_step step;
    while ((step = query_step(query, verifying->fault)) == QUERY_ROW) {
        if (query_whole(query, 0) != load && stream.items > 0 && !check_names_of(verifying, load, &stream))
            return false;
        load = query_whole(query, 0);
        stream_name(&stream, query_whole(query, 1), query_text(query, 2));
    }
    if (step == QUERY_FAILED || (stream.items > 0 && !check_names_of(verifying, load, &stream)))
        return false;
    return check_lost_names(verifying);
}

/* ---- lists ---- */

static bool check_lists_of(struct verifying *verifying, int64_t site)
{
    AUTO_LISTS lists = {0};
    struct list_digests digests;
    if (!lists_read(verifying->store, site, &lists, verifying->fault))
        return false;
    lists_digest(&lists, &digests);
    bool files_whole = true;
    if (!check_link(verifying, site, LINK_FILES, digests.files, "files", &files_whole))
        return false;
    if (!files_whole)
        return true; /* refusals and warnings hang on the files */
    if (lists.strays > 0) {
        struct text name = verify_site(verifying, site);
        break_found(verifying, (int64_t)verifying->report->loads,
                    "%.*s: the table refusals or warnings has rows of a file that was not loaded", TEXT_FORMAT(name));
    }
    bool whole;
    return check_link(verifying, site, LINK_REFUSALS, digests.refusals, "refusals", &whole) &&
           check_link(verifying, site, LINK_WARNINGS, digests.warnings, "warnings", &whole);
}

static bool check_lists(struct verifying *verifying)
{
    AUTO(query)
    sites = query_new(&verifying->store->database, verifying->fault,
                      "SELECT site FROM links WHERE site > 0 UNION SELECT site FROM files"
                      " UNION SELECT site FROM refusals UNION SELECT site FROM warnings");
    if (sites == NULL)
        return false;
    enum query_step step;
    while ((step = query_step(sites, verifying->fault)) == QUERY_ROW)
        if (!check_lists_of(verifying, query_whole(sites, 0)))
            return false;
    return step == QUERY_END;
}

/* ---- audits ---- */

static bool check_audit(struct verifying *verifying, int64_t audit, struct text findings, struct text sums)
{
    struct store *store = verifying->store;
    int64_t after_all = (int64_t)verifying->report->loads + 1;
    unsigned char expected[DIGEST_SIZE];
    bool any;
    if (!audit_digest(store, audit, expected, verifying->fault))
        return false;
    if (!text_equal(findings, (struct text){(const char *)expected, DIGEST_SIZE}))
        break_found(verifying, after_all, "the table audit_findings was changed");
    if (!audit_sums_digest(store, audit, expected, &any, verifying->fault))
        return false;
    if (any != (sums.data != NULL) || (any && !text_equal(sums, (struct text){(const char *)expected, DIGEST_SIZE})))
        break_found(verifying, after_all, "the table audit_sites was changed");
    return true;
}

static bool check_audits(struct verifying *verifying)
{
    struct store *store = verifying->store;
    int64_t after_all = (int64_t)verifying->report->loads + 1, strays = 0, stray_sums = 0;
    unsigned char expected[DIGEST_SIZE], stored[DIGEST_SIZE];
    int64_t load;
    AUTO(query)
    audits = query_new(&store->database, verifying->fault,
                       store->schema < 2 ? "SELECT audit, digest, NULL FROM audits"
                                         : "SELECT audit, digest, sums FROM audits");
    if (audits == NULL || !audits_digest(store, expected, verifying->fault) ||
        !latest_link(verifying, 0, LINK_AUDITS, stored, &load))
        return false;
    if (memcmp(expected, stored, DIGEST_SIZE) != 0)
        break_found(verifying, after_all, "the table audits was changed");
    enum query_step step;
    while ((step = query_step(audits, verifying->fault)) == QUERY_ROW)
        if (!check_audit(verifying, query_whole(audits, 0), query_blob(audits, 1), query_blob(audits, 2)))
            return false;
    if (step == QUERY_FAILED ||
        !sql_whole(&store->database,
                   "SELECT count(*) FROM audit_findings WHERE audit NOT IN (SELECT audit FROM audits)", &strays,
                   verifying->fault) ||
        !audit_sums_strays(store, &stray_sums, verifying->fault))
        return false;
    if (strays > 0)
        break_found(verifying, after_all, "the table audit_findings was changed");
    if (stray_sums > 0)
        break_found(verifying, after_all, "the table audit_sites was changed");
    return true;
}

/* ---- the file ---- */

/* That rows can be found in the way SQLite looks for them: an index that lacks one hides it from who reads by it. */
static bool check_file(struct verifying *verifying)
{
    AUTO(query)
    query = query_new(&verifying->store->database, verifying->fault, "PRAGMA integrity_check(1)");
    if (query == NULL || query_step(query, verifying->fault) != QUERY_ROW)
        return false;
    struct text found = query_text(query, 0);
    if (!text_is(found, "ok"))
        break_found(verifying, 0, "the file is damaged: %.*s", TEXT_FORMAT(found));
    return true;
}

static bool check_definitions(struct verifying *verifying)
{
    char what[DEFINITION_CHANGE_SIZE];
    if (!definitions_compare(verifying->store, what, verifying->fault) ||
        (*what == '\0' && !definitions_values(verifying->store, what, verifying->fault)))
        return false;
    if (*what != '\0')
        break_found(verifying, 0, "%s", what);
    return true;
}

/* ---- all ---- */

/* What hangs on broken links is not looked at: it would be blamed for what the links lost. */
static bool verify_all(struct verifying *verifying)
{
    if (!check_file(verifying) || !check_definitions(verifying))
        return false;
    if (verifying->report->whole && !check_heads(verifying))
        return false;
    if (!verifying->report->whole)
        return true;
    if (!check_names(verifying) || !check_lists(verifying) || !check_audits(verifying))
        return false;
    for (size_t k = 0; k < KIND_COUNT; k++)
        if (!verify_kind(verifying, &verifying->store->layouts[k]))
            return false;
    return verify_strangers(verifying);
}

bool store_verify(struct store *store, struct chain_report *out, struct fault *fault)
{
    *out = (struct chain_report){.whole = true};
    struct verifying verifying = {.store = store, .report = out, .fault = fault};
    /* One transaction, so that a load at the same time is seen as a whole or not at all; but head and names are of the
     * time when the store was opened. */
    if (!sql_run(&store->database, "BEGIN", fault))
        return false;
    bool done = verify_all(&verifying) && store_stayed(store, fault);
    sql_run(&store->database, "COMMIT", NULL);
    return done;
}

bool store_had_head(struct store *store, const char *head, bool *out, struct fault *fault)
{
    AUTO(query) query = query_new(&store->database, fault, "SELECT 1 FROM loads WHERE head = ?");
    if (query == NULL)
        return false;
    query_bind(query, "t", text_of(head));
    enum query_step step = query_step(query, fault);
    *out = step == QUERY_ROW;
    return step != QUERY_FAILED;
}
