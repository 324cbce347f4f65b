/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/progress.h"

bool progress_step(const struct progress *progress, const char *work, size_t done, size_t total, struct fault *fault)
{
    if (progress == NULL || progress->step == NULL || progress->step(progress->context, work, done, total))
        return true;
    return fault_set(fault, FAULT_STOPPED, "stopped while %s; nothing is half done", work);
}
