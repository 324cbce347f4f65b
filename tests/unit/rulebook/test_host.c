/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/aside.h"
#include "commands/open.h"
#include "rulebook/judged.h"

struct sample { /* the sample site in a store of its own, and all rules */
    char folder[64];
    struct opened *opened;
    struct store *store;
    struct rulebook *book;
};

static day_number day_of(const char *text)
{
    day_number day = DAY_ABSENT;
    cr_assert(day_parse(text_of(text), &day, NULL), "%s", text);
    return day;
}

static void sample_open(struct sample *sample)
{
    struct fault fault = {0};
    *sample = (struct sample){.folder = "/tmp/assize-test-XXXXXX", .book = rulebook_new()};
    cr_assert(mkdtemp(sample->folder) != NULL);
    char path[80];
    snprintf(path, sizeof path, "%s/assize.db", sample->folder);
    AUTO(load_report) report = NULL;
    cr_assert(rulebook_add(sample->book, "rules", "rules", &fault), "%s", fault.text);
    cr_assert(opened_read(&sample->opened, "sample-site", &fault), "%s", fault.text);
    cr_assert(store_open(&sample->store, path, STORE_WRITE, &fault), "%s", fault.text);
    const struct opened_site *site = &sample->opened->sites[0];
    struct load_site load = {site->site, site->place};
    cr_assert(store_load(sample->store, &load, 1, day_of("2026-11-02"), NULL, &report, &fault), "%s", fault.text);
}

static void sample_close(struct sample *sample)
{
    store_free(sample->store);
    opened_free(sample->opened);
    rulebook_free(sample->book);
    aside_remove(sample->folder);
}

static void look_on(void *context, const struct event *event)
{
    (void)event;
    ++*(size_t *)context;
}

struct judgement {
    struct audit *audit;
    struct growing growing;
};

/* Somebody who looks on is told of all events, so that the walk has to begin with the first. */
static void judge(struct judgement *judgement, const struct sample *sample, struct period period, size_t *seen)
{
    const struct site_settings *settings = sample->opened->sites[0].settings;
    struct policies policies = {&settings->policy, &sample->opened->program.policy};
    struct fault fault = {0};
    struct site_result result;
    AUTO(history) history = NULL;
    AUTO(host) host = host_new(sample->book);
    cr_assert(history_read(&history, sample->store, settings, period.as_of, &fault), "%s", fault.text);
    presence_find(history, NULL, 0);
    if (seen)
        host->watcher = (struct watcher){look_on, NULL, seen};
    *judgement = (struct judgement){.audit = audit_new()};
    audit_history(host, judgement->audit, &judgement->growing, history, &policies, period, &result);
}

static void judgement_free(struct judgement *judgement)
{
    memory_free(judgement->growing.findings);
    memory_free(judgement->growing.rules);
    audit_free(judgement->audit);
}

/* Gives how many of the findings begin before the period. */
static size_t expect_same(const struct growing *late, const struct growing *whole, day_number from)
{
    size_t begun_before = 0;
    cr_assert_eq(late->finding_count, whole->finding_count);
    for (size_t i = 0; i < late->finding_count; i++) {
        const struct finding *a = &late->findings[i], *b = &whole->findings[i];
        cr_expect(a->rule == b->rule && text_equal(a->from, b->from) && text_equal(a->to, b->to), "%s %s", a->number,
                  b->number);
        cr_expect(a->events == b->events && a->severity == b->severity && text_equal(a->says, b->says), "%s",
                  a->number);
        cr_expect(a->test_count == b->test_count && a->evidence_count == b->evidence_count, "%s", a->number);
        cr_expect_str_eq(a->number, b->number);
        day_number day;
        moment at;
        begun_before +=
            day_parse(a->from, &day, NULL) ? day < from : moment_parse(a->from, &at, NULL) && moment_day(at, 0) < from;
    }
    cr_assert_eq(late->rule_count, whole->rule_count);
    for (size_t i = 0; i < late->rule_count; i++)
        cr_expect(late->rules[i].judged == whole->rules[i].judged && late->rules[i].met == whole->rules[i].met, "%.*s",
                  TEXT_FORMAT(late->rules[i].rule->id));
    return begun_before;
}

/* Weeks from each day of October on. */
Test(host, a_walk_that_begins_with_the_period_finds_what_a_whole_one_does)
{
    enum { WEEK = 7 };
    struct sample sample;
    sample_open(&sample);
    size_t begun_before = 0;
    for (day_number from = day_of("2026-10-01"); from <= day_of("2026-10-31"); from++) {
        struct period period = {from, from + WEEK - 1, from + WEEK - 1};
        struct judgement late, whole;
        size_t seen = 0;
        judge(&late, &sample, period, NULL);
        judge(&whole, &sample, period, &seen);
        cr_expect(seen > 0);
        begun_before += expect_same(&late.growing, &whole.growing, from);
        judgement_free(&late);
        judgement_free(&whole);
    }
    cr_expect(begun_before > 0, "no streak reached into a period");
    sample_close(&sample);
}
