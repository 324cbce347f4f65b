/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Long work tells how far it is, and asks whether to go on. Whoever is told may live in a room above (commands/). */
#ifndef ASSIZE_BASE_PROGRESS_H
#define ASSIZE_BASE_PROGRESS_H

#include <stddef.h>

#include "base/fault.h"

struct progress {
    bool (*step)(void *context, const char *work, size_t done, size_t total); /* false: stop. May be NULL */
    void *context;
};

/* `progress` may be NULL. False, with the fault set, if the work is to be stopped; what it has begun is then undone by
 * who began it. */
bool progress_step(const struct progress *progress, const char *work, size_t done, size_t total, struct fault *fault);

#endif
