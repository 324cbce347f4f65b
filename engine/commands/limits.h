/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The acceptance limits that came with the program (rules/data/acceptance-limits.csv), as a table for people. */
#ifndef ASSIZE_COMMANDS_LIMITS_H
#define ASSIZE_COMMANDS_LIMITS_H

#include "base/output.h"

/* `home` is the folder of the rules that came with the program, `width` that of the terminal. */
bool limits_print(const char *home, size_t width, struct output *output, struct fault *fault);

#endif
