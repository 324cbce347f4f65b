/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Audits kept. They are no part of the loads' chain, so that the head says what was loaded and nothing else; one link
 * of their own covers them all. */
#include "store/audits.h"

bool audit_digest(struct store *store, int64_t audit, unsigned char out[DIGEST_SIZE], struct fault *fault)
{
    AUTO(query)
    query =
        query_new(&store->database, fault, "SELECT number, site FROM audit_findings WHERE audit = ? ORDER BY number");
    if (query == NULL)
        return false;
    AUTO_STREAM stream = {0};
    query_bind(query, "i", audit);
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW) {
        bytes_text(&stream.block, query_text(query, 0));
        bytes_text(&stream.block, query_text(query, 1));
        stream_item(&stream);
    }
    stream_end(&stream, out);
    return step == QUERY_END;
}

bool audits_digest(struct store *store, unsigned char out[DIGEST_SIZE], struct fault *fault)
{
    AUTO(query)
    query = query_new(&store->database, fault, "SELECT audit, first, last, as_of, digest FROM audits ORDER BY audit");
    if (query == NULL)
        return false;
    AUTO_STREAM stream = {0};
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW) {
        for (int column = 0; column < 4; column++)
            bytes_number(&stream.block, number_fold(query_whole(query, column)));
        bytes_text(&stream.block, query_blob(query, 4));
        stream_item(&stream);
    }
    stream_end(&stream, out);
    return step == QUERY_END;
}

/* ---- keeping --------------------------------------------------------------------------------------------------- */

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
           query_put(row, fault, "i", audit);
}

static bool put_findings(struct store *store, int64_t audit, const char *const *numbers, const char *const *sites,
                         size_t count, struct fault *fault)
{
    AUTO(query) put = query_new(&store->database, fault, "INSERT OR IGNORE INTO audit_findings VALUES(?, ?, ?)");
    if (put == NULL)
        return false;
    for (size_t i = 0; i < count; i++)
        if (!query_put(put, fault, "tit", text_of(numbers[i]), audit, text_of(sites[i])))
            return false;
    return true;
}

static bool put_audit(struct store *store, int64_t audit, const struct audit_key *key,
                      const unsigned char digest[DIGEST_SIZE], struct fault *fault)
{
    AUTO(query) put = query_new(&store->database, fault, "INSERT INTO audits VALUES(?, ?, ?, ?, ?)");
    return put != NULL && query_put(put, fault, "iiiib", audit, (int64_t)key->from, (int64_t)key->to,
                                    (int64_t)key->as_of, (const void *)digest, (size_t)DIGEST_SIZE);
}

static bool put_link(struct store *store, struct fault *fault)
{
    unsigned char digest[DIGEST_SIZE];
    AUTO(query) put = query_new(&store->database, fault, "INSERT OR REPLACE INTO links VALUES(0, 0, ?, 0, ?)");
    return put != NULL && audits_digest(store, digest, fault) &&
           query_put(put, fault, "ib", (int64_t)LINK_AUDITS, (const void *)digest, (size_t)DIGEST_SIZE);
}

/* *same: the audit that was kept last is this one, with these findings; then nothing is to be written. */
static bool keep_audit(struct store *store, const struct audit_key *key, const char *const *numbers,
                       const char *const *sites, size_t count, bool *same, struct fault *fault)
{
    int64_t before, latest;
    unsigned char old[DIGEST_SIZE] = {0}, new[DIGEST_SIZE];
    if (!find_audit(store, key, &before, &latest, fault))
        return false;
    if (before != 0 && (!audit_digest(store, before, old, fault) || !remove_audit(store, before, fault)))
        return false;
    int64_t audit = latest + 1;
    if (!put_findings(store, audit, numbers, sites, count, fault) || !audit_digest(store, audit, new, fault))
        return false;
    *same = before != 0 && before == latest && memcmp(old, new, DIGEST_SIZE) == 0;
    return put_audit(store, audit, key, new, fault) && put_link(store, fault);
}

bool store_keep_audit(struct store *store, const struct audit_key *key, const char *const *numbers,
                      const char *const *sites, size_t count, struct fault *fault)
{
    bool same = false;
    if (!store_begin(store, fault))
        return false;
    if (keep_audit(store, key, numbers, sites, count, &same, fault) && !same)
        return store_commit(store, fault);
    store_roll_back(store);
    return same;
}

/* ---- asking ---------------------------------------------------------------------------------------------------- */

bool store_was_found(struct store *store, const char *number, day_number as_of, bool *out, struct fault *fault)
{
    if (store->was_found == NULL)
        store->was_found =
            query_new(&store->database, fault,
                      "SELECT 1 FROM audit_findings JOIN audits USING (audit) WHERE number = ? AND as_of < ?");
    if (store->was_found == NULL)
        return false;
    query_bind(store->was_found, "ti", text_of(number), (int64_t)as_of);
    enum query_step step = query_step(store->was_found, fault);
    *out = step == QUERY_ROW;
    query_bind(store->was_found, "");
    return step != QUERY_FAILED;
}

bool store_last_audit(struct store *store, struct audit_key *out, bool *there, struct fault *fault)
{
    AUTO(query)
    query = query_new(&store->database, fault, "SELECT first, last, as_of FROM audits ORDER BY audit DESC LIMIT 1");
    if (query == NULL)
        return false;
    enum query_step step = query_step(query, fault);
    *there = step == QUERY_ROW;
    if (*there)
        *out = (struct audit_key){(day_number)query_whole(query, 0), (day_number)query_whole(query, 1),
                                  (day_number)query_whole(query, 2)};
    return step != QUERY_FAILED;
}
