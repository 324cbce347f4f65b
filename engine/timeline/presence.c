/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "timeline/presence.h"

#include <stdlib.h>

#include "timeline/history.h"

struct span {
    int64_t start;
    uint32_t length, operator_, site, analyzer;
    uint32_t run; /* its place at its site */
};

struct presence {
    struct span *spans; /* by site, then as the site's runs */
    size_t count;
};

void presence_free(struct presence *presence)
{
    if (!presence)
        return;
    memory_free(presence->spans);
    memory_free(presence);
}

static struct span span_of(const struct history *history, uint32_t site, uint32_t place)
{
    const struct run *run = &history->runs[place];
    const struct method_settings *method = run_method(history, run);
    int64_t length = method && method->run_seconds.present ? (int64_t)method->run_seconds.number : 0;
    return (struct span){
        moment_seconds(run->at) - length, (uint32_t)length, run->operator_, site, run->analyzer, place};
}

/* ---- overlaps at a site ---------------------------------------------------------------------------------------- */

static int by_operator_and_start(const void *a, const void *b)
{
    const struct span *x = a, *y = b;
    if (x->operator_ != y->operator_)
        return x->operator_ < y->operator_ ? -1 : 1;
    if (x->start != y->start)
        return x->start < y->start ? -1 : 1;
    if (x->site != y->site)
        return x->site < y->site ? -1 : 1;
    return x->run < y->run ? -1 : 1;
}

static int64_t end_of(const struct span *span) { return span->start + span->length; }

/* `span` overlaps with `other` by so much: told where the span is this site's. */
static void tell(struct history *history, size_t site, const struct span *span, const struct span *other,
                 int64_t seconds)
{
    if (span->site != site)
        return;
    struct presence_at *at = &history->overlaps[span->run];
    int32_t *longest = other->site != site ? &at->across : &at->here;
    if (seconds > *longest)
        *longest = (int32_t)seconds;
}

/* The spans of one operator, by their start. */
static void find_overlaps(struct history *history, size_t site, const struct span *spans, size_t count)
{
    bool two = false;
    for (size_t i = 1; i < count; i++)
        two = two || spans[i].site != spans[0].site || spans[i].analyzer != spans[0].analyzer;
    for (size_t i = 0; two && i < count; i++) {
        if (spans[i].site == site)
            history->overlaps[spans[i].run].two_analyzers = true;
        for (size_t j = i + 1; j < count && spans[j].start < end_of(&spans[i]); j++) {
            if (spans[j].site == spans[i].site && spans[j].analyzer == spans[i].analyzer)
                continue;
            int64_t end = end_of(&spans[i]) < end_of(&spans[j]) ? end_of(&spans[i]) : end_of(&spans[j]);
            tell(history, site, &spans[i], &spans[j], end - spans[j].start);
            tell(history, site, &spans[j], &spans[i], end - spans[j].start);
        }
    }
}

void presence_find(struct history *history, const struct presence *presence, size_t site)
{
    size_t elsewhere = presence ? presence->count : 0, count = 0;
    struct span *spans = memory_new((history->run_count + elsewhere + 1) * sizeof *spans);
    history->overlaps = arena_take(history->arena, (history->run_count + 1) * sizeof *history->overlaps);
    for (size_t i = 0; i < history->run_count; i++) {
        history->overlaps[i] = (struct presence_at){0};
        spans[count++] = span_of(history, (uint32_t)site, (uint32_t)i);
    }
    for (size_t i = 0; i < elsewhere; i++)
        if (presence->spans[i].site != site)
            spans[count++] = presence->spans[i];
    if (count)
        qsort(spans, count, sizeof *spans, by_operator_and_start);
    for (size_t begin = 0, i = 1; i <= count; i++) {
        if (i < count && spans[i].operator_ == spans[begin].operator_)
            continue;
        find_overlaps(history, site, &spans[begin], i - begin);
        begin = i;
    }
    memory_free(spans);
}

/* ---- operators at more than one site --------------------------------------------------------------------------- */

struct roster {          /* by the operator's name */
    size_t site, *first; /* one more than the first site where the operator was seen; 0: nowhere */
    bool *at_two;
};

static void see_operator(void *context, uint32_t operator_)
{
    struct roster *roster = context;
    if (roster->first[operator_] == 0)
        roster->first[operator_] = roster->site + 1;
    else if (roster->first[operator_] != roster->site + 1)
        roster->at_two[operator_] = true;
}

struct search { /* does a site have one of them? */
    const struct roster *roster;
    bool found;
};

static void look_for(void *context, uint32_t operator_)
{
    struct search *search = context;
    search->found = search->found || search->roster->at_two[operator_];
}

static void add_spans(struct presence *presence, const struct history *history, const struct roster *roster,
                      uint32_t site)
{
    size_t count = presence->count;
    for (size_t i = 0; i < history->run_count; i++)
        count += roster->at_two[history->runs[i].operator_];
    presence->spans = memory_resize(presence->spans, count + 1, sizeof *presence->spans);
    for (size_t i = 0; i < history->run_count; i++)
        if (roster->at_two[history->runs[i].operator_])
            presence->spans[presence->count++] = span_of(history, site, (uint32_t)i);
}

static bool read_spans(struct presence *presence, struct store *store, const struct site_settings *const *sites,
                       size_t count, struct roster *roster, day_number as_of, struct fault *fault)
{
    for (roster->site = 0; roster->site < count; roster->site++)
        if (sites[roster->site] && !store_operators(store, sites[roster->site]->site, see_operator, roster, fault))
            return false;
    for (size_t i = 0; i < count; i++) {
        AUTO(history) history = NULL;
        struct search search = {roster, false};
        if (sites[i] && !store_operators(store, sites[i]->site, look_for, &search, fault))
            return false;
        if (search.found && !history_read(&history, store, sites[i], as_of, fault))
            return false;
        if (history)
            add_spans(presence, history, roster, (uint32_t)i);
    }
    return true;
}

bool presence_read(struct presence **out, struct store *store, const struct site_settings *const *sites, size_t count,
                   day_number as_of, struct fault *fault)
{
    size_t names = (size_t)names_count(store_names(store)) + 1;
    struct roster roster = {.first = memory_new(names * sizeof *roster.first), .at_two = memory_new(names)};
    AUTO(presence) presence = memory_new(sizeof *presence);
    *out = NULL;
    bool ok = count < 2 || read_spans(presence, store, sites, count, &roster, as_of, fault);
    memory_free(roster.first);
    memory_free(roster.at_two);
    if (!ok)
        return false;
    *out = presence;
    presence = NULL;
    return true;
}
