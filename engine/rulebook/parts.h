/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An audit while it is made: a part a site, each with memory of its own, and the threads that make them. */
#ifndef ASSIZE_RULEBOOK_PARTS_H
#define ASSIZE_RULEBOOK_PARTS_H

#include <pthread.h>
#include <stdatomic.h>

#include "rulebook/judged.h"
#include "timeline/presence.h"

struct audit_part {
    struct audit *audit; /* its memory and warnings; NULL: the site was not asked for */
    struct growing growing;
    struct site_result result;
    struct fault fault;
};

struct crew {
    const struct audit_request *request;
    const struct presence *presence;
    struct audit_part *parts; /* as request->sites */
    atomic_size_t next;       /* the site that nobody has taken yet */
    atomic_bool failed;       /* a part has a fault, or the work was stopped */
    pthread_mutex_t telling;  /* of progress: `done` and the fault */
    size_t done;
    struct fault stopped;
};

/* Makes all parts; if `failed` is set then, one of them has a fault. */
void crew_work(struct crew *crew);

#endif
