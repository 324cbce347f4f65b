/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Results of the period that days before it put in doubt: a cleaning left out on the last of a month affects the tests
 * of the first. Their findings belong to the month before, whose audit was made before these tests were run; so each
 * audit looks back a year and says that there are such results. They count as vouched for all the same: that is, by no
 * finding of this audit. */
#include "rulebook/judged.h"

enum { DAYS_BACK = 366, NAMED_MOST = 5 };

struct rulebook *reaching_rules(const struct rulebook *book)
{
    struct rulebook *reaching = rulebook_new();
    for (size_t i = 0; i < book->count; i++) {
        const struct rule *rule = &book->rules[i];
        if (!rule->site_rule && rule->affects != AFFECTS_FUNCTION)
            continue;
        VECTOR_GROW(reaching->rules, reaching->count, reaching->capacity);
        reaching->rules[reaching->count++] = *rule;
    }
    for (size_t i = 0; i < book->shared_count; i++) {
        VECTOR_GROW(reaching->shared, reaching->shared_count, reaching->shared_capacity);
        reaching->shared[reaching->shared_count++] = book->shared[i];
    }
    return reaching;
}

static bool doubts(const struct finding *finding)
{
    return finding->severity == SEVERITY_AT_RISK || finding->severity == SEVERITY_BREACH;
}

/* The tests that the audit itself names. */
static struct names *named_tests(const struct growing *growing)
{
    struct names *named = names_new();
    for (size_t i = 0; i < growing->finding_count; i++)
        for (size_t t = 0; doubts(&growing->findings[i]) && t < growing->findings[i].test_count; t++)
            names_add(named, growing->findings[i].tests[t]->test);
    return named;
}

/* Tests of the period that only this finding names; they are added to `named`. */
static size_t count_carried(const struct finding *finding, const struct history *history, struct period period,
                            struct names *named)
{
    size_t count = 0;
    for (size_t t = 0; doubts(finding) && t < finding->test_count; t++) {
        moment at;
        struct text test = finding->tests[t]->test;
        if (!moment_parse(finding->tests[t]->performed_at, &at, NULL) || names_find(named, test) ||
            finding->tests[t]->method.size == 0) /* without a method it is not vouched for anyway */
            continue;
        day_number day = history_day(history, at);
        if (day < period.from || day > period.to)
            continue;
        names_add(named, test);
        count++;
    }
    return count;
}

static void warn(struct audit *audit, const struct history *history, struct period period, size_t count,
                 struct text list)
{
    char as_of[DAY_TEXT_SIZE];
    day_print(period.as_of, as_of);
    audit_add_warning(audit,
                      text_print(audit->arena,
                                 "%.*s: %zu result%s counted as vouched for here %s in doubt by gaps before this "
                                 "period: %.*s; an audit of those days as of %s names %s",
                                 TEXT_FORMAT(history->settings->site), count, count == 1 ? "" : "s",
                                 count == 1 ? "is" : "are", TEXT_FORMAT(list), as_of, count == 1 ? "it" : "them"));
}

static void warn_of_broken(struct audit *audit, const struct history *history, const struct growing *earlier)
{
    for (size_t i = 0; i < earlier->rule_count; i++)
        if (earlier->rules[i].broke)
            audit_add_warning(audit,
                              text_print(audit->arena,
                                         "%.*s: whether days before the period put results in doubt was not "
                                         "looked at by %.*s: %.*s",
                                         TEXT_FORMAT(history->settings->site), TEXT_FORMAT(earlier->rules[i].rule->id),
                                         TEXT_FORMAT(earlier->rules[i].why)));
}

void audit_warn_of_days_before(struct host *reaching, struct audit *audit, const struct growing *growing,
                               const struct history *history, const struct policies *policies, struct period period)
{
    struct period before = {period.from - DAYS_BACK, period.from - 1, period.as_of};
    struct growing earlier = {0};
    struct site_result result;
    if (history->run_count == 0 || history_day(history, history->runs[0].at) > before.to)
        return;
    AUTO(audit) aside = audit_new();
    AUTO(names) named = named_tests(growing);
    audit_history(reaching, aside, &earlier, history, policies, before, &result);
    size_t count = 0, told = 0; /* what was answered or excused is settled where it was found */
    struct text list = TEXT("");
    for (size_t i = 0; i < earlier.finding_count; i++) {
        const struct finding *finding = &earlier.findings[i];
        size_t carried = finding_is_open(finding) ? count_carried(finding, history, period, named) : 0;
        count += carried;
        if (carried > 0 && told++ < NAMED_MOST)
            list = text_print(aside->arena, "%.*s%s%.*s of %.*s (%s)", TEXT_FORMAT(list), told > 1 ? ", " : "",
                              TEXT_FORMAT(finding->rule->id), TEXT_FORMAT(finding->from), finding->number);
    }
    if (told > NAMED_MOST)
        list = text_print(aside->arena, "%.*s and %zu more", TEXT_FORMAT(list), told - NAMED_MOST);
    if (count > 0)
        warn(audit, history, period, count, list);
    warn_of_broken(audit, history, &earlier);
    memory_free(earlier.findings);
    memory_free(earlier.rules);
}
