/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Watches long work: a bar on the terminal for what takes longer than a second, and Ctrl-C, which ends the work where
 * nothing is half done. A second Ctrl-C ends the program at once. */
#ifndef ASSIZE_COMMANDS_WATCH_H
#define ASSIZE_COMMANDS_WATCH_H

#include "base/memory.h"
#include "base/progress.h"

struct watch;
struct watch *watch_new(void); /* one at a time: it takes over Ctrl-C */
void watch_free(struct watch *watch);
OWNER(watch);

struct progress watch_progress(struct watch *watch); /* borrows it */

#endif
