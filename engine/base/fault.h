/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one error type.
 *
 * A function that can fail takes a `struct fault *` as its last parameter and returns false when it failed; the text is
 * complete where the fault is known ("file:line: column: value: reason") and nobody rewords it on the way up. Only
 * commands/ prints it. What a user's row does wrong is no fault but data (store/load.h: refusals); a rule that breaks
 * is contained by rulebook/. Running out of memory ends the program (memory.h). */
#ifndef ASSIZE_BASE_FAULT_H
#define ASSIZE_BASE_FAULT_H

#include <stdbool.h>

enum fault_code {
    FAULT_NONE,
    FAULT_USAGE,    /* the command line asks for something that cannot be */
    FAULT_SETTINGS, /* site.yaml, program.yaml or a method file is wrong */
    FAULT_FILE,     /* a file or folder cannot be read or written */
    FAULT_STORE,    /* assize.db is locked, damaged or of another program */
    FAULT_STOPPED,  /* the user stopped the work */
    FAULT_RULE,     /* a rule file is no rule, or a rule broke */
};

enum { FAULT_TEXT_SIZE = 1024 };

struct fault {
    enum fault_code code;
    char text[FAULT_TEXT_SIZE];
};

/* Fills `fault` (which may be NULL) and returns false, so that a caller can write `return fault_set(…)`.
 * A fault that is already set is kept: the first one is the cause. */
bool fault_set(struct fault *fault, enum fault_code code, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

#endif
