/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What earlier audits found. */
#include "store/inside.h"

static struct audit_key key_of(struct query *query)
{
    return (struct audit_key){(day_number)query_whole(query, 0), (day_number)query_whole(query, 1),
                              (day_number)query_whole(query, 2)};
}

static bool first_key(struct query *query, struct audit_key *out, bool *there, struct fault *fault)
{
    enum query_step step = query_step(query, fault);
    *there = step == QUERY_ROW;
    if (*there)
        *out = key_of(query);
    return step != QUERY_FAILED;
}

bool store_last_audit(struct store *store, struct audit_key *out, bool *there, struct fault *fault)
{
    AUTO(query)
    query = query_new(&store->database, fault, "SELECT first, last, as_of FROM audits ORDER BY audit DESC LIMIT 1");
    return query != NULL && first_key(query, out, there, fault);
}

bool store_audit_before(struct store *store, const struct audit_key *key, bool same_period, struct audit_key *out,
                        bool *there, struct fault *fault)
{
    AUTO(query)
    query = query_new(&store->database, fault,
                      "SELECT first, last, as_of FROM audits WHERE as_of < ? AND (? = 0 OR (first = ? AND last = ?))"
                      " ORDER BY as_of DESC, audit DESC LIMIT 1");
    if (query == NULL)
        return false;
    query_bind(query, "iiii", (int64_t)key->as_of, (int64_t)same_period, (int64_t)key->from, (int64_t)key->to);
    return first_key(query, out, there, fault);
}

/* ---- findings ---- */

bool store_finding_past(struct store *store, const char *number, day_number as_of, struct finding_past *out,
                        struct fault *fault)
{
    *out = (struct finding_past){.first_as_of = DAY_ABSENT};
    if (store->finding_past == NULL)
        store->finding_past =
            query_new(&store->database, fault,
                      "SELECT min(as_of) FROM audit_findings JOIN audits USING (audit) WHERE number = ? AND as_of < ?");
    if (store->finding_past == NULL)
        return false;
    query_bind(store->finding_past, "ti", text_of(number), (int64_t)as_of);
    enum query_step step = query_step(store->finding_past, fault);
    out->found = step == QUERY_ROW && !query_null(store->finding_past, 0);
    if (out->found)
        out->first_as_of = (day_number)query_whole(store->finding_past, 0);
    query_bind(store->finding_past, "");
    return step != QUERY_FAILED;
}

bool store_first_excused(struct store *store, const char *number, day_number as_of, day_number *out,
                         struct fault *fault)
{
    *out = DAY_ABSENT;
    if (store->schema < 3) /* which knows no states */
        return true;
    AUTO(query)
    query = query_new(&store->database, fault,
                      "SELECT min(as_of) FROM audit_findings JOIN audits USING (audit)"
                      " WHERE number = ? AND as_of < ? AND state = 'excused'");
    if (query == NULL)
        return false;
    query_bind(query, "ti", text_of(number), (int64_t)as_of);
    enum query_step step = query_step(query, fault);
    if (step == QUERY_ROW && !query_null(query, 0))
        *out = (day_number)query_whole(query, 0);
    return step != QUERY_FAILED;
}

static const char *finding_columns(const struct store *store)
{
    return store->schema < 3   ? "number, site, NULL AS rule, NULL, NULL, NULL, NULL"
           : store->schema < 5 ? "number, site, rule, subject, state, NULL, NULL"
                               : "number, site, rule, subject, state, first_day, last_day";
}

static day_number day_of(struct query *query, int column)
{
    return query_null(query, column) ? DAY_ABSENT : (day_number)query_whole(query, column);
}

static struct kept_finding finding_of(struct query *query)
{
    return (struct kept_finding){.number = query_text(query, 0),
                                 .site = query_text(query, 1),
                                 .rule = query_text(query, 2),
                                 .subject = query_text(query, 3),
                                 .state = query_text(query, 4),
                                 .first_day = day_of(query, 5),
                                 .last_day = day_of(query, 6)};
}

static struct query *findings_query(struct store *store, const char *rest, struct fault *fault)
{
    AUTO(output) sql = output_memory();
    output_print(sql, "SELECT %s FROM audit_findings JOIN audits USING (audit) %s", finding_columns(store), rest);
    return query_new(&store->database, fault, output_string(sql));
}

static struct text kept(struct arena *arena, struct text text)
{
    return text.data != NULL ? text_keep(arena, text) : text;
}

bool store_kept_finding(struct store *store, const char *number, struct arena *arena, struct kept_finding *out,
                        bool *there, struct fault *fault)
{
    AUTO(query) query = findings_query(store, "WHERE number = ? ORDER BY audit DESC LIMIT 1", fault);
    if (query == NULL)
        return false;
    query_bind(query, "t", text_of(number));
    enum query_step step = query_step(query, fault);
    *there = step == QUERY_ROW;
    if (*there) {
        struct text *texts[] = {&out->number, &out->site, &out->rule, &out->subject, &out->state};
        *out = finding_of(query);
        for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
            *texts[i] = kept(arena, *texts[i]);
    }
    return step != QUERY_FAILED;
}

static bool hand_out(struct query *query, kept_finding_function *function, void *context, struct fault *fault)
{
    enum query_step step;
    while ((step = query_step(query, fault)) == QUERY_ROW) {
        struct kept_finding finding = finding_of(query);
        function(context, &finding);
    }
    return step == QUERY_END;
}

bool store_audit_findings(struct store *store, const struct audit_key *key, kept_finding_function *function,
                          void *context, struct fault *fault)
{
    AUTO(query)
    query = findings_query(store, "WHERE first = ? AND last = ? AND as_of = ? ORDER BY site, rule, number", fault);
    if (query == NULL)
        return false;
    query_bind(query, "iii", (int64_t)key->from, (int64_t)key->to, (int64_t)key->as_of);
    return hand_out(query, function, context, fault);
}

bool store_findings_of_days(struct store *store, day_number first, day_number last, kept_finding_function *function,
                            void *context, struct fault *fault)
{
#define LOOKED_LAST_AT(day)                                                                                 \
    "(" day " BETWEEN ?1 AND ?2 AND audit = (SELECT max(audit) FROM audits AS a JOIN audit_sites AS s"      \
    " USING (audit) WHERE s.site = audit_findings.site AND audit_findings." day " BETWEEN a.first AND min(" \
    "a.last, a.as_of)))"
    if (store->schema < 5)
        return true;
    AUTO(query)
    query = findings_query(store, "WHERE " LOOKED_LAST_AT("first_day") " OR " LOOKED_LAST_AT("last_day"), fault);
    if (query == NULL)
        return false;
    query_bind(query, "ii", (int64_t)first, (int64_t)last);
    return hand_out(query, function, context, fault);
}
