/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/multirule.h"

#include <stdlib.h>

enum { LONGEST = 12 };

/* Patterns in a row: `length` of them on one side beyond `limit`. Patterns of one set have length 1 and a count of
 * their own in patterns_of_set. */
static const struct {
    const char *name;
    uint32_t length, limit;
    bool within, in_chain, in_set;
} patterns[PATTERN_COUNT] = {
    [PATTERN_1_3S] = {"1-3s", 1, 3, true, false, false}, [PATTERN_2_2S] = {"2-2s", 2, 2, true, false, true},
    [PATTERN_3_1S] = {"3-1s", 3, 1, true, false, false}, [PATTERN_4_1S] = {"4-1s", 4, 1, true, true, false},
    [PATTERN_6X] = {"6x", 6, 0, true, true, false},      [PATTERN_8X] = {"8x", 8, 0, true, true, false},
    [PATTERN_10X] = {"10x", 10, 0, true, true, false},   [PATTERN_12X] = {"12x", 12, 0, true, true, false},
    [PATTERN_R_4S] = {"R-4s", 1, 2, false, false, true}, [PATTERN_2OF3_2S] = {"2of3-2s", 1, 2, false, false, true},
};

static const double limits[MULTIRULE_LIMITS] = {0, 1, 2, 3};

const char *pattern_name(enum pattern pattern) { return patterns[pattern].name; }

bool pattern_named(struct text name, enum pattern *out)
{
    for (int i = 0; i < PATTERN_COUNT; i++)
        if (text_is(name, patterns[i].name)) {
            *out = (enum pattern)i;
            return true;
        }
    return false;
}

uint32_t pattern_length(enum pattern pattern) { return patterns[pattern].length; }

/* A z must exceed its limit by more than rounding could. */
static bool is_above(double z, uint32_t limit) { return z > limits[limit] + 1e-9 * (limit == 0 ? 1 : limits[limit]); }

static bool is_below(double z, uint32_t limit) { return is_above(-z, limit); }

/* ---- one by one ---- */

/* All values from `lowest` to `highest` count as one step in the row. */
static void count_in_row(struct multirule_series *series, double lowest, double highest)
{
    for (uint32_t i = 0; i < MULTIRULE_LIMITS; i++) {
        series->above[i] = is_above(lowest, i) ? series->above[i] + 1 : 0;
        series->below[i] = is_below(highest, i) ? series->below[i] + 1 : 0;
    }
}

static bool is_row(const struct multirule_series *series, uint32_t limit, uint32_t length)
{
    return series->above[limit] >= length || series->below[limit] >= length;
}

pattern_set multirule_add(struct multirule_series *series, double z)
{
    pattern_set completed = 0;
    count_in_row(series, z, z);
    for (int i = 0; i < PATTERN_COUNT; i++)
        if (patterns[i].within && is_row(series, patterns[i].limit, patterns[i].length))
            completed |= PATTERN_BIT(i);
    return completed;
}

static pattern_set patterns_of_set(const double *z, uint32_t count, uint32_t level_count)
{
    uint32_t above = 0, below = 0;
    for (uint32_t i = 0; i < count; i++) {
        above += is_above(z[i], 2);
        below += is_below(z[i], 2);
    }
    bool two = above >= 2 || below >= 2;
    pattern_set completed = 0;
    if (above > 0 && below > 0)
        completed |= PATTERN_BIT(PATTERN_R_4S);
    if (two)
        completed |= PATTERN_BIT(PATTERN_2_2S);
    if (two && count == 3 && level_count == 3)
        completed |= PATTERN_BIT(PATTERN_2OF3_2S);
    return completed;
}

static void count_set_in_row(struct multirule_series *chain, const double *z, uint32_t count)
{
    double lowest = z[0], highest = z[0];
    for (uint32_t i = 1; i < count; i++) {
        lowest = z[i] < lowest ? z[i] : lowest;
        highest = z[i] > highest ? z[i] : highest;
    }
    count_in_row(chain, lowest, highest);
}

pattern_set multirule_add_set(struct multirule_series *chain, const double *z, uint32_t count, uint32_t level_count)
{
    if (level_count < 2)
        return 0;
    pattern_set completed = patterns_of_set(z, count, level_count);
    if (count < level_count) {
        *chain = (struct multirule_series){0};
        return completed;
    }
    count_set_in_row(chain, z, count);
    for (int i = 0; i < PATTERN_COUNT; i++) {
        bool divides = patterns[i].length % level_count == 0;
        if (patterns[i].in_chain && divides && is_row(chain, patterns[i].limit, patterns[i].length / level_count))
            completed |= PATTERN_BIT(i);
    }
    return completed;
}

/* ---- a whole history ---- */

static void add_hit(struct multirule *multirule, struct multirule_hit hit)
{
    VECTOR_GROW(multirule->hits, multirule->hit_count, multirule->hit_capacity);
    multirule->hits[multirule->hit_count++] = hit;
}

struct level {
    struct multirule_series series;
    pattern_set before; /* what its control before completed */
    uint32_t lot, count;
    uint32_t places[LONGEST]; /* of its latest controls: the n-th of the series at n % LONGEST */
};

static void evaluate_levels(struct multirule *out, const struct multirule_control *controls, size_t count,
                            uint32_t level_count, pattern_set chosen)
{
    struct level *levels = memory_new(level_count * sizeof *levels);
    for (uint32_t i = 0; i < count; i++) {
        struct level *level = &levels[controls[i].level];
        if (level->count > 0 && level->lot != controls[i].lot)
            *level = (struct level){0};
        level->lot = controls[i].lot;
        level->places[level->count++ % LONGEST] = i;
        pattern_set completed = multirule_add(&level->series, controls[i].z) & chosen;
        for (int p = 0; p < PATTERN_COUNT; p++)
            if (completed & PATTERN_BIT(p))
                add_hit(out, (struct multirule_hit){
                                 .pattern = (enum pattern)p,
                                 .begins = !(level->before & PATTERN_BIT(p)),
                                 .control = i,
                                 .first = level->places[(level->count - patterns[p].length) % LONGEST],
                             });
        level->before = completed;
    }
    memory_free(levels);
}

struct sets { /* controls sorted by set, within a set in the order of time */
    uint32_t *members;
    uint32_t *starts; /* set_count + 1 places in `members` */
    uint32_t set_count;
};

/* Gives each control the number of its set, from 0 along the history; returns how many sets there are. */
static uint32_t number_sets(const struct multirule_control *controls, size_t count, uint32_t level_count,
                            uint32_t *set_of)
{
    uint32_t *today = memory_new(level_count * sizeof *today); /* controls of each level in the day */
    uint32_t before = 0, sets = 0;                             /* sets before the day, and up to now */
    for (uint32_t i = 0; i < count; i++) {
        if (i > 0 && controls[i].day != controls[i - 1].day) {
            before = sets;
            for (uint32_t level = 0; level < level_count; level++)
                today[level] = 0;
        }
        set_of[i] = before + today[controls[i].level]++;
        sets = set_of[i] >= sets ? set_of[i] + 1 : sets;
    }
    memory_free(today);
    return sets;
}

static struct sets sets_of(const struct multirule_control *controls, size_t count, uint32_t level_count)
{
    uint32_t *set_of = memory_new(count * sizeof *set_of);
    struct sets sets = {.set_count = number_sets(controls, count, level_count, set_of)};
    sets.members = memory_new(count * sizeof *sets.members);
    sets.starts = memory_new((sets.set_count + 2) * sizeof *sets.starts);
    for (uint32_t i = 0; i < count; i++)
        sets.starts[set_of[i] + 2]++;
    for (uint32_t set = 0; set < sets.set_count; set++)
        sets.starts[set + 2] += sets.starts[set + 1];
    for (uint32_t i = 0; i < count; i++)
        sets.members[sets.starts[set_of[i] + 1]++] = i; /* which leaves each start where it belongs */
    memory_free(set_of);
    return sets;
}

struct chain {
    struct multirule_series series;
    pattern_set before; /* what the set before completed */
    uint32_t *lots;     /* of each level, as last seen */
    bool *seen;
};

/* Takes note of the lots of a set; true if a level's lot is another one than before. */
static bool lots_change(struct chain *chain, const struct multirule_control *controls, const uint32_t *members,
                        uint32_t count)
{
    bool change = false;
    for (uint32_t i = 0; i < count; i++) {
        const struct multirule_control *control = &controls[members[i]];
        change = change || (chain->seen[control->level] && chain->lots[control->level] != control->lot);
        chain->seen[control->level] = true;
        chain->lots[control->level] = control->lot;
    }
    return change;
}

static void add_set_hits(struct multirule *out, const struct sets *sets, uint32_t set, uint32_t level_count,
                         pattern_set completed, pattern_set before)
{
    for (int p = 0; p < PATTERN_COUNT; p++) {
        if (!(completed & PATTERN_BIT(p)))
            continue;
        uint32_t length = patterns[p].in_chain ? patterns[p].length / level_count : 1; /* in sets */
        add_hit(out, (struct multirule_hit){
                         .pattern = (enum pattern)p,
                         .across = true,
                         .begins = !(before & PATTERN_BIT(p)),
                         .control = sets->members[sets->starts[set + 1] - 1],
                         .first = sets->members[sets->starts[set + 1 - length]],
                     });
    }
}

static void evaluate_sets(struct multirule *out, const struct multirule_control *controls, size_t count,
                          uint32_t level_count, pattern_set chosen)
{
    struct sets sets = sets_of(controls, count, level_count);
    struct chain chain = {.lots = memory_new(level_count * sizeof *chain.lots),
                          .seen = memory_new(level_count * sizeof *chain.seen)};
    double *z = memory_new(level_count * sizeof *z);
    for (uint32_t set = 0; set < sets.set_count; set++) {
        const uint32_t *members = sets.members + sets.starts[set];
        uint32_t size = sets.starts[set + 1] - sets.starts[set];
        if (lots_change(&chain, controls, members, size)) {
            chain.series = (struct multirule_series){0};
            chain.before = 0;
        }
        for (uint32_t i = 0; i < size; i++)
            z[i] = controls[members[i]].z;
        pattern_set completed = multirule_add_set(&chain.series, z, size, level_count) & chosen;
        add_set_hits(out, &sets, set, level_count, completed, chain.before);
        chain.before = completed;
    }
    memory_free(z);
    memory_free(chain.lots);
    memory_free(chain.seen);
    memory_free(sets.members);
    memory_free(sets.starts);
}

static int compare_hits(const void *a, const void *b)
{
    const struct multirule_hit *left = a, *right = b;
    if (left->control != right->control)
        return left->control < right->control ? -1 : 1;
    if (left->across != right->across)
        return left->across ? 1 : -1;
    return (int)left->pattern - (int)right->pattern;
}

struct multirule *multirule_evaluate(const struct multirule_control *controls, size_t count, uint32_t level_count,
                                     pattern_set chosen)
{
    struct multirule *multirule = memory_new(sizeof *multirule);
    if (count == 0 || level_count == 0)
        return multirule;
    evaluate_levels(multirule, controls, count, level_count, chosen);
    if (level_count > 1)
        evaluate_sets(multirule, controls, count, level_count, chosen);
    if (multirule->hit_count > 1)
        qsort(multirule->hits, multirule->hit_count, sizeof *multirule->hits, compare_hits);
    return multirule;
}

void multirule_free(struct multirule *multirule)
{
    if (multirule == NULL)
        return;
    memory_free(multirule->hits);
    memory_free(multirule);
}
