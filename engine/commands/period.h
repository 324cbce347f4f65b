/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The period of an audit from the command line: --month, or --from and --to, and --as-of. */
#ifndef ASSIZE_COMMANDS_PERIOD_H
#define ASSIZE_COMMANDS_PERIOD_H

#include "commands/command.h"
#include "store/store.h"

bool period_given(const struct arguments *arguments);
/* Nothing is taken from the clock: without a period it is a fault. */
bool period_read(const struct arguments *arguments, struct audit_key *out, struct fault *fault);
/* The same, but the audit kept last in the store is the default. */
bool period_or_last(const struct arguments *arguments, struct store *store, struct audit_key *out, struct fault *fault);

#endif
