/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The command line of one command, read once against its table of options, so that a command asks for what it needs by
 * name: `argument_text(arguments, "month")`. Options may stand before or after the other words. All texts are borrowed
 * from the command line. Asking for an option that the table does not have is a mistake in the program and ends it. */
#ifndef ASSIZE_COMMANDS_ARGUMENTS_H
#define ASSIZE_COMMANDS_ARGUMENTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/calendar.h"
#include "base/fault.h"
#include "base/memory.h"

struct option_row {
    const char *name;    /* without the dashes; NULL ends the table */
    const char *value;   /* what its value is called in help, "YYYY-MM"; NULL if it takes none */
    const char *meaning; /* a line for help, man page and completion */
    bool repeats;        /* may be given more than once, and all values count */
};

/* `argv[0]` is the command's name. `--help` and `-h` are known to every command. */
struct arguments;
bool arguments_read(struct arguments **out, const struct option_row *options, int argc, char **argv,
                    struct fault *fault);
void arguments_free(struct arguments *arguments);
OWNER(arguments);

bool argument_help(const struct arguments *arguments);
bool argument_flag(const struct arguments *arguments, const char *option);        /* given at all? */
const char *argument_text(const struct arguments *arguments, const char *option); /* NULL if not given */
size_t argument_count(const struct arguments *arguments, const char *option);     /* how often */
const char *argument_at(const struct arguments *arguments, const char *option, size_t index);

/* The words that are no options: DIR, FINDING, TEST … */
size_t argument_word_count(const struct arguments *arguments);
const char *argument_word(const struct arguments *arguments, size_t index); /* NULL behind the last */

/* Values of a type. An option that is not given leaves `out` as it is; a value that is not one is a fault that says
 * "--today: 2026-02-30: not a real calendar date". */
bool argument_day(const struct arguments *arguments, const char *option, day_number *out, struct fault *fault);
bool argument_month(const struct arguments *arguments, const char *option, day_number *first, day_number *last,
                    struct fault *fault);
bool argument_choice(const struct arguments *arguments, const char *option, const char *const *words, size_t *out,
                     struct fault *fault); /* `words` end with NULL; `out` is the index of the one given */
bool argument_whole(const struct arguments *arguments, const char *option, uint64_t *out, struct fault *fault);
bool argument_share(const struct arguments *arguments, const char *option, double *out,
                    struct fault *fault); /* a decimal number above 0 and below 1 */

#endif
