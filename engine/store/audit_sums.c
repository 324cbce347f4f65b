/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What audits kept say of their sites in numbers, for the share of tests vouched for over the months. */
#include "store/audits.h"

static bool has_sums(const struct store *store) { return store->schema >= 2; }

bool audit_sums_digest(struct store *store, int64_t audit, unsigned char out[DIGEST_SIZE], bool *any,
                       struct fault *fault)
{
    *any = false;
    if (!has_sums(store))
        return true;
    AUTO(query)
    query = query_new(&store->database, fault,
                      "SELECT site, tests, vouched FROM audit_sites WHERE audit = ? ORDER BY site");
    if (query == NULL)
        return false;
    AUTO_STREAM stream = {0};
    query_bind(query, "i", audit);
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW) {
        *any = true;
        bytes_text(&stream.block, query_text(query, 0));
        bytes_number(&stream.block, number_fold(query_whole(query, 1)));
        bytes_number(&stream.block, number_fold(query_whole(query, 2)));
        stream_item(&stream);
    }
    stream_end(&stream, out);
    return step == QUERY_END;
}

bool audit_sums_put(struct store *store, int64_t audit, const struct audit_sum *sums, size_t count, struct fault *fault)
{
    AUTO(query) put = query_new(&store->database, fault, "INSERT OR REPLACE INTO audit_sites VALUES(?, ?, ?, ?)");
    if (put == NULL)
        return false;
    for (size_t i = 0; i < count; i++)
        if (!query_put(put, fault, "itii", audit, sums[i].site, (int64_t)sums[i].tests, (int64_t)sums[i].vouched))
            return false;
    return true;
}

bool audit_sums_remove(struct store *store, int64_t audit, struct fault *fault)
{
    AUTO(query) query = query_new(&store->database, fault, "DELETE FROM audit_sites WHERE audit = ?");
    return query != NULL && query_put(query, fault, "i", audit);
}

bool audit_sums_strays(struct store *store, int64_t *out, struct fault *fault)
{
    *out = 0;
    return !has_sums(store) ||
           sql_whole(&store->database, "SELECT count(*) FROM audit_sites WHERE audit NOT IN (SELECT audit FROM audits)",
                     out, fault);
}

bool store_trend(struct store *store, struct text site, struct audit_month *months, size_t count, struct fault *fault)
{
    if (!has_sums(store))
        return true;
    AUTO(query)
    query = query_new(&store->database, fault,
                      "SELECT tests, vouched FROM audits JOIN audit_sites USING (audit)"
                      " WHERE first = ? AND last = ? AND site = ? ORDER BY audit DESC LIMIT 1");
    if (query == NULL)
        return false;
    for (size_t i = 0; i < count; i++) {
        struct audit_month *month = &months[i];
        query_bind(query, "iit", (int64_t)month->from, (int64_t)day_add_months(month->from, 1) - 1, site);
        enum query_step step = query_step(query, fault);
        if (step == QUERY_FAILED)
            return false;
        month->audited = step == QUERY_ROW;
        if (!month->audited)
            continue;
        month->tests = (uint64_t)query_whole(query, 0);
        month->vouched = (uint64_t)query_whole(query, 1);
    }
    return true;
}
