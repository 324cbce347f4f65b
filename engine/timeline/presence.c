/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "timeline/presence.h"

#include <stdlib.h>
#include <string.h>

#include "timeline/history.h"

struct span {
    int64_t start;
    uint32_t length, operator_, site, analyzer;
    uint32_t run; /* its place at its site */
    moment at;
};

struct person {   /* an operator of the program */
    size_t site;  /* where first seen */
    bool at_two;  /* seen at another site too */
    size_t first; /* place of the person's spans; they end where those of the next person begin */
};

struct presence {
    struct text *sites;     /* their ids, borrowed from the settings */
    struct names *names;    /* of all operators at all sites */
    struct person *persons; /* by number, and one behind the last; persons[0] is nobody */
    size_t person_count, person_capacity;
    struct span *spans; /* of those at two sites, by person (operator_), then start */
    size_t count, capacity;
};

void presence_free(struct presence *presence)
{
    if (!presence)
        return;
    memory_free(presence->sites);
    names_free(presence->names);
    memory_free(presence->persons);
    memory_free(presence->spans);
    memory_free(presence);
}

static struct span span_of(const struct history *history, uint32_t site, uint32_t place)
{
    const struct run *run = &history->runs[place];
    const struct method_settings *method = run_method(history, run);
    int64_t length = method && method->run_seconds.present ? (int64_t)method->run_seconds.number : 0;
    return (struct span){
        moment_seconds(run->at) - length, (uint32_t)length, run->operator_, site, run->analyzer, place, run->at};
}

/* ---- overlaps at a site ---- */

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

static struct text where_and_when(const struct presence *presence, const struct span *span, struct arena *arena)
{
    char when[MOMENT_TEXT_SIZE];
    moment_print(span->at, when);
    return text_print(arena, "%.*s, %s", TEXT_FORMAT(presence->sites[span->site]), when);
}

/* `span` overlaps with `other` by so much: told where the span is this site's. */
static void tell(struct history *history, const struct presence *presence, size_t site, const struct span *span,
                 const struct span *other, int64_t seconds)
{
    if (span->site != site)
        return;
    struct presence_at *at = &history->overlaps[span->run];
    if (other->site == site) {
        at->here = seconds > at->here ? (int32_t)seconds : at->here;
    } else if (presence && seconds > at->across) {
        at->across = (int32_t)seconds;
        at->elsewhere = where_and_when(presence, other, history->arena);
    }
}

/* The spans of one operator, by their start. */
static void find_overlaps(struct history *history, const struct presence *presence, size_t site,
                          const struct span *spans, size_t count)
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
            tell(history, presence, site, &spans[i], &spans[j], end - spans[j].start);
            tell(history, presence, site, &spans[j], &spans[i], end - spans[j].start);
        }
    }
}

/* The operator's own spans at the site, joined by those at other sites. */
static void find_overlaps_of(struct history *history, const struct presence *presence, size_t site,
                             const struct span *own, size_t count)
{
    uint32_t number = presence ? names_find(presence->names, names_text(history->names, own->operator_)) : 0;
    const struct person *person = number ? &presence->persons[number] : NULL;
    size_t elsewhere = person ? person[1].first - person->first : 0, all = count;
    if (elsewhere == 0) {
        find_overlaps(history, presence, site, own, count);
        return;
    }
    struct span *spans = memory_new((count + elsewhere) * sizeof *spans);
    memcpy(spans, own, count * sizeof *spans);
    for (size_t i = 0; i < elsewhere; i++) {
        struct span *span = &spans[all];
        *span = presence->spans[person->first + i];
        span->operator_ = own->operator_;
        all += span->site != site;
    }
    qsort(spans, all, sizeof *spans, by_operator_and_start);
    find_overlaps(history, presence, site, spans, all);
    memory_free(spans);
}

void presence_find(struct history *history, const struct presence *presence, size_t site)
{
    size_t count = history->run_count;
    struct span *spans = memory_new((count + 1) * sizeof *spans);
    history->overlaps = arena_take(history->arena, (count + 1) * sizeof *history->overlaps);
    for (size_t i = 0; i < count; i++) {
        history->overlaps[i] = (struct presence_at){0};
        spans[i] = span_of(history, (uint32_t)site, (uint32_t)i);
    }
    if (count)
        qsort(spans, count, sizeof *spans, by_operator_and_start);
    for (size_t begin = 0, i = 1; i <= count; i++) {
        if (i < count && spans[i].operator_ == spans[begin].operator_)
            continue;
        find_overlaps_of(history, presence, site, &spans[begin], i - begin);
        begin = i;
    }
    memory_free(spans);
}

/* ---- operators at more than one site ---- */

struct looking { /* through all sites, store by store */
    struct presence *presence;
    const struct presence_site *sites;
    size_t count;
    day_number as_of;
    struct fault *fault;

    /* the site in hand */
    struct store *store;
    size_t site;

    struct seen { /* an operator at a site */
        size_t site;
        uint32_t number;
    } * seen;
    size_t seen_count, seen_capacity;
    bool *shared; /* by site: one of its operators is at another site too */
};

static void see_operator(void *context, uint32_t operator_)
{
    struct looking *looking = context;
    struct presence *presence = looking->presence;
    uint32_t number = names_add(presence->names, names_text(store_names(looking->store), operator_));
    VECTOR_GROW(looking->seen, looking->seen_count, looking->seen_capacity);
    looking->seen[looking->seen_count++] = (struct seen){looking->site, number};
    if (number == presence->person_count) {
        VECTOR_GROW(presence->persons, presence->person_count, presence->person_capacity);
        presence->persons[presence->person_count++] = (struct person){.site = looking->site};
    } else if (number && presence->persons[number].site != looking->site) {
        presence->persons[number].at_two = true;
    }
}

static bool see_site(struct looking *looking, const struct site_settings *settings)
{
    return store_operators(looking->store, settings->site, see_operator, looking, looking->fault);
}

static void find_shared(struct looking *looking)
{
    looking->shared = memory_new((looking->count + 1) * sizeof *looking->shared);
    for (size_t i = 0; i < looking->seen_count; i++)
        if (looking->presence->persons[looking->seen[i].number].at_two)
            looking->shared[looking->seen[i].site] = true;
}

static bool take_spans(struct looking *looking, const struct site_settings *settings)
{
    struct presence *presence = looking->presence;
    AUTO(history) history = NULL;
    if (!looking->shared[looking->site])
        return true;
    if (!history_read(&history, looking->store, settings, looking->as_of, looking->fault))
        return false;
    for (size_t i = 0; i < history->run_count; i++) {
        struct text operator_ = names_text(store_names(looking->store), history->runs[i].operator_);
        uint32_t number = names_find(presence->names, operator_); /* 0: of a load since the first look */
        if (number == 0 || !presence->persons[number].at_two)
            continue;
        VECTOR_GROW(presence->spans, presence->count, presence->capacity);
        struct span *span = &presence->spans[presence->count++];
        *span = span_of(history, (uint32_t)looking->site, (uint32_t)i);
        span->operator_ = number;
    }
    return true;
}

/* Each store is opened once. */
static bool at_all_sites(struct looking *looking, const struct stores *stores,
                         bool (*at_site)(struct looking *, const struct site_settings *))
{
    AUTO(store_reader) reader = store_reader_new(stores, STORE_READ, false);
    for (size_t number = 0; number < stores->count; number++) {
        looking->store = store_reader_turn(reader, number, looking->fault);
        if (!looking->store)
            return false;
        for (looking->site = 0; looking->site < looking->count; looking->site++) {
            const struct presence_site *site = &looking->sites[looking->site];
            if (site->settings && site->store == number && !at_site(looking, site->settings))
                return false;
        }
    }
    return true;
}

static bool look(struct looking *looking, const struct stores *stores)
{
    if (!at_all_sites(looking, stores, see_site))
        return false;
    find_shared(looking);
    return at_all_sites(looking, stores, take_spans);
}

static void put_in_order(struct presence *presence)
{
    if (presence->count)
        qsort(presence->spans, presence->count, sizeof *presence->spans, by_operator_and_start);
    VECTOR_GROW(presence->persons, presence->person_count, presence->person_capacity);
    presence->persons[presence->person_count] = (struct person){0};
    for (size_t person = 0, at = 0; person <= presence->person_count; person++) {
        while (at < presence->count && presence->spans[at].operator_ < person)
            at++;
        presence->persons[person].first = at;
    }
}

bool presence_read(struct presence **out, const struct stores *stores, const struct presence_site *sites, size_t count,
                   day_number as_of, struct fault *fault)
{
    AUTO(presence) presence = memory_new(sizeof *presence);
    struct looking looking = {.presence = presence, .sites = sites, .count = count, .as_of = as_of, .fault = fault};
    *out = NULL;
    presence->names = names_new();
    presence->sites = memory_new((count + 1) * sizeof *presence->sites);
    for (size_t i = 0; i < count; i++)
        presence->sites[i] = sites[i].settings ? sites[i].settings->site : (struct text){0};
    VECTOR_GROW(presence->persons, presence->person_count, presence->person_capacity);
    presence->persons[presence->person_count++] = (struct person){0}; /* nobody */
    bool done = count <= 1 || look(&looking, stores);
    memory_free(looking.seen);
    memory_free(looking.shared);
    if (!done)
        return false;
    put_in_order(presence);
    *out = presence;
    presence = NULL;
    return true;
}
