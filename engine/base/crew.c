/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/crew.h"

#include <pthread.h>
#include <stdatomic.h>

#include "base/memory.h"

struct shift { /* one run of a crew */
    const struct crew *crew;
    atomic_size_t next; /* that nobody has taken yet */
    atomic_bool over;
    pthread_mutex_t telling; /* of what follows */
    size_t done, failed;     /* the lowest number that failed; of a stop the count */
    struct fault fault;
};

struct hand {
    struct shift *shift;
    void *tool;
    pthread_t thread;
};

static void tell(struct shift *shift, size_t number, bool good, const struct fault *fault)
{
    const struct crew *crew = shift->crew;
    pthread_mutex_lock(&shift->telling);
    if (!good && number < shift->failed) {
        shift->failed = number;
        shift->fault = *fault;
    }
    shift->done += good;
    if (good && shift->fault.code == FAULT_NONE)
        good = progress_step(crew->progress, crew->work, shift->done, crew->count, &shift->fault);
    if (!good)
        atomic_store(&shift->over, true);
    pthread_mutex_unlock(&shift->telling);
}

static void *work(void *context)
{
    const struct hand *hand = context;
    struct shift *shift = hand->shift;
    const struct crew *crew = shift->crew;
    while (!atomic_load(&shift->over)) {
        size_t number = atomic_fetch_add(&shift->next, 1);
        if (number >= crew->count)
            break;
        struct fault fault = {0};
        bool good = crew->one(crew->context, hand->tool, number, &fault);
        tell(shift, number, good, &fault);
    }
    return NULL;
}

static size_t hands_used(const struct crew *crew)
{
    size_t useful = crew->hands < crew->count ? crew->hands : crew->count;
    return useful > 0 ? useful : 1;
}

bool crew_run(const struct crew *crew, struct fault *fault)
{
    struct shift shift = {.crew = crew, .failed = crew->count};
    size_t count = hands_used(crew), started = 1;
    if (!progress_step(crew->progress, crew->work, 0, crew->count, fault))
        return false;
    struct hand *hands = memory_new(count * sizeof *hands);
    pthread_mutex_init(&shift.telling, NULL);
    for (size_t i = 0; i < count; i++)
        hands[i] = (struct hand){.shift = &shift, .tool = crew->tools ? crew->tools[i] : NULL};
    while (started < count && pthread_create(&hands[started].thread, NULL, work, &hands[started]) == 0)
        started++; /* with fewer it only takes longer */
    work(&hands[0]);
    for (size_t i = 1; i < started; i++)
        pthread_join(hands[i].thread, NULL);
    pthread_mutex_destroy(&shift.telling);
    memory_free(hands);
    bool done = !atomic_load(&shift.over);
    if (!done && fault)
        *fault = shift.fault;
    return done;
}
