/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Audits kept. They are no part of the loads' chain, so that the head says what was loaded and nothing else; one link
 * of their own covers them all. */
#include "store/audits.h"

bool audit_digest(struct store *store, int64_t audit, unsigned char out[DIGEST_SIZE], struct fault *fault)
{
    AUTO(query)
    query = query_new(&store->database, fault,
                      store->schema < 3 ? "SELECT number, site, NULL, NULL, NULL, NULL, NULL FROM audit_findings"
                                          " WHERE audit = ? ORDER BY number"
                      : store->schema < 5
                          ? "SELECT number, site, rule, subject, state, NULL, NULL FROM audit_findings"
                            " WHERE audit = ? ORDER BY number"
                          : "SELECT number, site, rule, subject, state, first_day, last_day FROM audit_findings"
                            " WHERE audit = ? ORDER BY number");
    if (query == NULL)
        return false;
    AUTO_STREAM stream = {0};
    query_bind(query, "i", audit);
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW) {
        bytes_text(&stream.block, query_text(query, 0));
        bytes_text(&stream.block, query_text(query, 1));
        for (int column = 2; column < 7; column++) {
            if (query_null(query, column)) /* as it was hashed by a schema where there are none */
                continue;
            bytes_number(&stream.block, (uint64_t)column);
            if (column < 5)
                bytes_text(&stream.block, query_text(query, column));
            else
                bytes_number(&stream.block, number_fold(query_whole(query, column)));
        }
        stream_item(&stream);
    }
    stream_end(&stream, out);
    return step == QUERY_END;
}

bool audits_digest(struct store *store, unsigned char out[DIGEST_SIZE], struct fault *fault)
{
    AUTO(query)
    query = query_new(&store->database, fault,
                      store->schema < 2 ? "SELECT audit, first, last, as_of, digest, NULL FROM audits ORDER BY audit"
                                        : "SELECT audit, first, last, as_of, digest, sums FROM audits ORDER BY audit");
    if (query == NULL)
        return false;
    AUTO_STREAM stream = {0};
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW) {
        for (int column = 0; column < 4; column++)
            bytes_number(&stream.block, number_fold(query_whole(query, column)));
        bytes_text(&stream.block, query_blob(query, 4));
        if (!query_null(query, 5)) /* as it was hashed by schema 1, where there is none */
            bytes_text(&stream.block, query_blob(query, 5));
        stream_item(&stream);
    }
    stream_end(&stream, out);
    return step == QUERY_END;
}

/* ---- keeping ---- */

/* The audit kept before with this key, 0 if there is none; and the number of the latest one. */
static bool find_audit(struct store *store, const struct audit_key *key, int64_t *audit, int64_t *latest,
                       struct fault *fault)
{
    AUTO(query)
    query = query_new(&store->database, fault,
                      "SELECT coalesce(max(audit), 0), coalesce(max(CASE WHEN first = ? AND last = ? AND as_of = ?"
                      " THEN audit END), 0) FROM audits");
    if (query == NULL)
        return false;
    query_bind(query, "iii", (int64_t)key->from, (int64_t)key->to, (int64_t)key->as_of);
    if (query_step(query, fault) != QUERY_ROW)
        return false;
    *latest = query_whole(query, 0);
    *audit = query_whole(query, 1);
    return true;
}

static bool remove_audit(struct store *store, int64_t audit, struct fault *fault)
{
    AUTO(query) findings = query_new(&store->database, fault, "DELETE FROM audit_findings WHERE audit = ?");
    AUTO(query) row = query_new(&store->database, fault, "DELETE FROM audits WHERE audit = ?");
    return findings != NULL && row != NULL && query_put(findings, fault, "i", audit) &&
           audit_sums_remove(store, audit, fault) && query_put(row, fault, "i", audit);
}

static bool put_findings(struct store *store, int64_t audit, const struct kept_finding *findings, size_t count,
                         struct fault *fault)
{
    AUTO(query)
    put = query_new(&store->database, fault,
                    "INSERT OR IGNORE INTO audit_findings(number, audit, site, rule, subject, state, first_day,"
                    " last_day) VALUES(?1, ?2, ?3, ?4, ?5, ?6, nullif(?7, ?9), nullif(?8, ?9))");
    if (put == NULL)
        return false;
    for (size_t i = 0; i < count; i++)
        if (!query_put(put, fault, "tittttiii", findings[i].number, audit, findings[i].site, findings[i].rule,
                       findings[i].subject, findings[i].state, (int64_t)findings[i].first_day,
                       (int64_t)findings[i].last_day, (int64_t)DAY_ABSENT))
            return false;
    return true;
}

struct digests { /* of an audit's findings and sums */
    unsigned char findings[DIGEST_SIZE], sums[DIGEST_SIZE];
    bool has_sums;
};

static bool digests_of(struct store *store, int64_t audit, struct digests *out, struct fault *fault)
{
    *out = (struct digests){{0}, {0}, false};
    return audit_digest(store, audit, out->findings, fault) &&
           audit_sums_digest(store, audit, out->sums, &out->has_sums, fault);
}

static bool digests_equal(const struct digests *a, const struct digests *b)
{
    return a->has_sums == b->has_sums && memcmp(a->findings, b->findings, DIGEST_SIZE) == 0 &&
           memcmp(a->sums, b->sums, DIGEST_SIZE) == 0;
}

static bool put_audit(struct store *store, int64_t audit, const struct audit_key *key, const struct digests *digests,
                      struct fault *fault)
{
    AUTO(query)
    put = query_new(&store->database, fault,
                    "INSERT INTO audits(audit, first, last, as_of, digest, sums) VALUES(?, ?, ?, ?, ?, ?)");
    return put != NULL && query_put(put, fault, digests->has_sums ? "iiiibb" : "iiiibn", audit, (int64_t)key->from,
                                    (int64_t)key->to, (int64_t)key->as_of, (const void *)digests->findings,
                                    (size_t)DIGEST_SIZE, (const void *)digests->sums, (size_t)DIGEST_SIZE);
}

static bool put_link(struct store *store, struct fault *fault)
{
    unsigned char digest[DIGEST_SIZE];
    AUTO(query) put = query_new(&store->database, fault, "INSERT OR REPLACE INTO links VALUES(0, 0, ?, 0, ?)");
    return put != NULL && audits_digest(store, digest, fault) &&
           query_put(put, fault, "ib", (int64_t)LINK_AUDITS, (const void *)digest, (size_t)DIGEST_SIZE);
}

struct kept { /* what an audit found, on its way into the tables */
    const struct kept_finding *findings;
    size_t count;
    const struct audit_sum *sums;
    size_t sum_count;
};

/* *same: the audit that was kept last is this one, with these findings and sums; then nothing is to be written. */
static bool keep_audit(struct store *store, const struct audit_key *key, const struct kept *kept, bool *same,
                       struct fault *fault)
{
    int64_t before, latest;
    struct digests old, new;
    if (!find_audit(store, key, &before, &latest, fault))
        return false;
    if (before != 0 && (!digests_of(store, before, &old, fault) || !remove_audit(store, before, fault)))
        return false;
    int64_t audit = latest + 1;
    if (!put_findings(store, audit, kept->findings, kept->count, fault) ||
        !audit_sums_put(store, audit, kept->sums, kept->sum_count, fault) || !digests_of(store, audit, &new, fault))
        return false;
    *same = before != 0 && before == latest && digests_equal(&old, &new);
    return put_audit(store, audit, key, &new, fault) && put_link(store, fault);
}

bool store_keep_audit(struct store *store, const struct audit_key *key, const struct kept_finding *findings,
                      size_t count, const struct audit_sum *sums, size_t sum_count, struct fault *fault)
{
    bool same = false;
    struct kept kept = {findings, count, sums, sum_count};
    if (!store_begin(store, fault))
        return false;
    if (keep_audit(store, key, &kept, &same, fault) && !same)
        return store_commit(store, fault);
    store_roll_back(store);
    return same;
}
