/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A folder for one test, below $TMPDIR or /tmp, with what the test writes into it; removed at the end. */
#ifndef ASSIZE_TESTS_SCRATCH_H
#define ASSIZE_TESTS_SCRATCH_H

#include <stddef.h>

#include "base/memory.h"

struct scratch {
    char *path;
    char *full; /* of the last scratch_path() */
};
struct scratch *scratch_new(void);
void scratch_free(struct scratch *scratch);
OWNER(scratch);

const char *scratch_path(struct scratch *scratch, const char *name);             /* valid until the next call */
void scratch_write(struct scratch *scratch, const char *name, const char *text); /* folders are made */
void scratch_bytes(struct scratch *scratch, const char *name, const void *bytes, size_t size);
void scratch_folder(struct scratch *scratch, const char *name);
void scratch_link(struct scratch *scratch, const char *name, const char *target);

#endif
