/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "timeline/presence.h"

#include <stdlib.h>

#include "timeline/history.h"

struct span {
    int64_t start;
    uint32_t length, operator_, site, analyzer;
    size_t run; /* its place in `found` */
};

struct presence {
    struct span *spans; /* by operator and start, once ready */
    struct presence_at *found;
    size_t count;
    size_t *offsets; /* of each site's runs in `found` */
    size_t site_count, site_capacity;
};

struct presence *presence_new(void) { return memory_new(sizeof(struct presence)); }

void presence_free(struct presence *presence)
{
    if (!presence)
        return;
    memory_free(presence->spans);
    memory_free(presence->found);
    memory_free(presence->offsets);
    memory_free(presence);
}

void presence_add(struct presence *presence, const struct history *history)
{
    uint32_t site = (uint32_t)presence->site_count;
    VECTOR_GROW(presence->offsets, presence->site_count, presence->site_capacity);
    presence->offsets[presence->site_count++] = presence->count;
    if (history) /* room for exactly this site's runs: doubling would hold twice what is needed */
        presence->spans =
            memory_resize(presence->spans, presence->count + history->run_count + 1, sizeof *presence->spans);
    for (size_t i = 0; history && i < history->run_count; i++) {
        const struct run *run = &history->runs[i];
        const struct method_settings *method = run_method(history, run);
        int64_t end = moment_seconds(run->at);
        int64_t length = method && method->run_seconds.present ? (int64_t)method->run_seconds.number : 0;
        presence->spans[presence->count] =
            (struct span){end - length, (uint32_t)length, run->operator_, site, run->analyzer, presence->count};
        presence->count++;
    }
}

static int by_operator_and_start(const void *a, const void *b)
{
    const struct span *x = a, *y = b;
    if (x->operator_ != y->operator_)
        return x->operator_ < y->operator_ ? -1 : 1;
    if (x->start != y->start)
        return x->start < y->start ? -1 : 1;
    return x->run < y->run ? -1 : 1;
}

static void longer(int32_t *overlap, int64_t seconds)
{
    if (seconds > *overlap)
        *overlap = (int32_t)seconds;
}

static int64_t end_of(const struct span *span) { return span->start + span->length; }

/* The spans of one operator, by their start. */
static void find_overlaps(struct presence *presence, const struct span *spans, size_t count)
{
    bool two = false;
    for (size_t i = 1; i < count; i++)
        two = two || spans[i].site != spans[0].site || spans[i].analyzer != spans[0].analyzer;
    for (size_t i = 0; i < count; i++) {
        presence->found[spans[i].run].two_analyzers = two;
        for (size_t j = i + 1; two && j < count && spans[j].start < end_of(&spans[i]); j++) {
            bool across = spans[j].site != spans[i].site;
            if (!across && spans[j].analyzer == spans[i].analyzer)
                continue;
            int64_t end = end_of(&spans[i]) < end_of(&spans[j]) ? end_of(&spans[i]) : end_of(&spans[j]);
            int64_t seconds = end - spans[j].start;
            struct presence_at *a = &presence->found[spans[i].run], *b = &presence->found[spans[j].run];
            longer(across ? &a->across : &a->here, seconds);
            longer(across ? &b->across : &b->here, seconds);
        }
    }
}

void presence_ready(struct presence *presence)
{
    presence->found = memory_new((presence->count + 1) * sizeof *presence->found);
    if (!presence->count)
        return;
    qsort(presence->spans, presence->count, sizeof *presence->spans, by_operator_and_start);
    for (size_t begin = 0, i = 1; i <= presence->count; i++) {
        if (i < presence->count && presence->spans[i].operator_ == presence->spans[begin].operator_)
            continue;
        find_overlaps(presence, &presence->spans[begin], i - begin);
        begin = i;
    }
    memory_free(presence->spans);
    presence->spans = NULL;
}

const struct presence_at *presence_of(const struct presence *presence, uint32_t site, uint32_t run)
{
    return &presence->found[presence->offsets[site] + run];
}

bool presence_read(struct presence **out, struct store *store, const struct site_settings *const *sites, size_t count,
                   day_number as_of, struct fault *fault)
{
    *out = NULL;
    AUTO(presence) presence = presence_new();
    for (size_t i = 0; i < count; i++) {
        AUTO(history) history = NULL;
        if (sites[i] && !history_read(&history, store, sites[i], as_of, fault))
            return false;
        presence_add(presence, history);
    }
    presence_ready(presence);
    *out = presence;
    presence = NULL;
    return true;
}
