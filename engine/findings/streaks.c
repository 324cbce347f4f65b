/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "findings/streaks.h"

#include <stdlib.h>

#include "base/map.h"

struct streaks {
    struct arena *arena;
    enum finding_shape shape;
    bool begun_late, reach_back;
    struct map *open; /* subject -> place in `all` + 1; 0 when closed or, begun late, only met so far */
    size_t open_count;
    struct streak **all; /* in the order of their beginning; those that cannot matter any more are taken out */
    size_t count, capacity;
};

struct streaks *streaks_new(struct arena *arena, enum finding_shape shape, bool begun_late)
{
    struct streaks *streaks = memory_new(sizeof *streaks);
    streaks->arena = arena;
    streaks->shape = shape;
    streaks->begun_late = begun_late && shape == SHAPE_STREAK;
    streaks->open = map_new();
    return streaks;
}

static void free_vectors(struct streak *streak)
{
    memory_free(streak->tests);
    memory_free(streak->gone);
    memory_free(streak->evidence);
}

void streaks_free(struct streaks *streaks)
{
    if (!streaks)
        return;
    for (size_t i = 0; i < streaks->count; i++)
        if (streaks->all[i])
            free_vectors(streaks->all[i]);
    memory_free(streaks->all);
    map_free(streaks->open);
    memory_free(streaks);
}

static uint64_t key_of(const struct subject *subject)
{
    const uint32_t *f = subject->fields;
    uint64_t first = map_key(f[0], f[1], f[2], 0, 0);
    return map_key((uint32_t)(first >> 32), f[3], f[4], f[5], f[6]) ^ first;
}

/* A closed streak outside the period is forgotten at once, so that a long history costs no memory. */
static void close_streak(struct streaks *streaks, uint64_t *slot)
{
    size_t at = *slot - 1;
    *slot = 0;
    streaks->open_count--;
    if (streaks->all[at]->in_period)
        return;
    free_vectors(streaks->all[at]);
    streaks->all[at] = NULL;
}

bool streaks_need_met(const struct streaks *streaks) { return streaks->open_count > 0 || streaks->begun_late; }

bool streaks_reach_back(const struct streaks *streaks) { return streaks->reach_back; }

void streaks_met(struct streaks *streaks, const struct subject *subject)
{
    if (!streaks_need_met(streaks))
        return;
    uint64_t key = key_of(subject);
    if (!streaks->begun_late && !map_find(streaks->open, key))
        return;
    uint64_t *slot = map_at(streaks->open, key);
    if (*slot)
        close_streak(streaks, slot);
}

static struct streak *begin(struct streaks *streaks, const struct subject *subject, struct when when)
{
    struct streak *streak = arena_take(streaks->arena, sizeof *streak);
    *streak = (struct streak){
        .subject = *subject, .from = when, .first_day = DAY_ABSENT, .last_day = DAY_ABSENT, .attribute = -1};
    VECTOR_GROW(streaks->all, streaks->count, streaks->capacity);
    streaks->all[streaks->count++] = streak;
    return streak;
}

struct streak *streaks_failed(struct streaks *streaks, const struct subject *subject, struct when when, bool in_period,
                              bool *first)
{
    struct streak *streak;
    *first = true;
    if (streaks->shape != SHAPE_STREAK) {
        if (!in_period)
            return NULL;
        streak = begin(streaks, subject, when);
    } else {
        uint64_t key = key_of(subject);
        streaks->reach_back = streaks->reach_back || (streaks->begun_late && !map_find(streaks->open, key));
        uint64_t *slot = map_at(streaks->open, key);
        *first = !*slot;
        if (*first) {
            streak = begin(streaks, subject, when);
            *slot = streaks->count;
            streaks->open_count++;
        } else {
            streak = streaks->all[*slot - 1];
        }
    }
    streak->to = when;
    streak->events++;
    streak->in_period = streak->in_period || in_period;
    return streak;
}

void streak_add_day(struct streak *streak, day_number day)
{
    if (day == DAY_ABSENT)
        return;
    if (streak->first_day == DAY_ABSENT || day < streak->first_day)
        streak->first_day = day;
    if (day > streak->last_day)
        streak->last_day = day;
}

void streak_add_test(struct streak *streak, uint32_t place)
{
    VECTOR_GROW(streak->tests, streak->test_count, streak->test_capacity);
    streak->tests[streak->test_count++] = place;
}

void streak_add_evidence(struct streak *streak, struct place place, struct text setting_file)
{
    VECTOR_GROW(streak->evidence, streak->evidence_count, streak->evidence_capacity);
    streak->evidence[streak->evidence_count++] = (struct evidence){place, setting_file};
}

struct ranked {
    const struct evidence *evidence;
    size_t rank; /* of its arrival */
};

static int compare_places(const struct evidence *x, const struct evidence *y)
{
    if (x->place.line != y->place.line)
        return x->place.line < y->place.line ? -1 : 1;
    int order = text_compare(x->setting_file, y->setting_file);
    if (order != 0 || x->setting_file.data || x->place.file == y->place.file)
        return order;
    return x->place.file < y->place.file ? -1 : 1;
}

static int by_place_and_arrival(const void *a, const void *b)
{
    const struct ranked *x = a, *y = b;
    int order = compare_places(x->evidence, y->evidence);
    return order != 0 ? order : (x->rank > y->rank) - (x->rank < y->rank);
}

void streak_drop_repeated(struct streak *streak)
{
    size_t count = streak->evidence_count, left = 0;
    struct ranked *ranked = memory_new((count + 1) * sizeof *ranked);
    bool *repeated = memory_new(count + 1);
    for (size_t i = 0; i < count; i++)
        ranked[i] = (struct ranked){&streak->evidence[i], i};
    qsort(ranked, count, sizeof *ranked, by_place_and_arrival);
    for (size_t i = 1; i < count; i++)
        repeated[ranked[i].rank] = compare_places(ranked[i - 1].evidence, ranked[i].evidence) == 0;
    for (size_t i = 0; i < count; i++)
        if (!repeated[i])
            streak->evidence[left++] = streak->evidence[i];
    streak->evidence_count = left;
    memory_free(repeated);
    memory_free(ranked);
}

void streaks_end(struct streaks *streaks, void (*function)(void *context, struct streak *streak), void *context)
{
    for (size_t i = 0; i < streaks->count; i++)
        if (streaks->all[i] && streaks->all[i]->in_period)
            function(context, streaks->all[i]);
}
