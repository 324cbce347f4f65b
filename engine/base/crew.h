/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many things done by a few threads. The things are numbered and know nothing of each other; each hand takes the next
 * one that nobody has, so their results must be put where their number says, not where the clock does. */
#ifndef ASSIZE_BASE_CREW_H
#define ASSIZE_BASE_CREW_H

#include "base/progress.h"

struct crew {
    const char *work;   /* what progress calls it: "judging sites" */
    size_t count;       /* of things; the first ones are begun first */
    size_t hands;       /* threads, the caller's own among them; 0 is 1, and more than there are things are not used */
    void *const *tools; /* of each hand, for it alone; NULL: they need none */
    bool (*one)(void *context, void *tool, size_t number, struct fault *fault); /* does one; false ends the work */
    void *context;
    const struct progress *progress; /* told by one hand at a time; may be NULL */
};

/* True when all are done. Else the fault of the first of those that failed, or that the work was stopped; those begun
 * were ended. */
bool crew_run(const struct crew *crew, struct fault *fault);

#endif
