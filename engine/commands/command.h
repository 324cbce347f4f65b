/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The commands, as a table: the help, the man page and the completion are made from it.
 *
 * A new command is a file commands/NAME.c that defines `const struct command command_NAME`, a line for it below, and a
 * line in the table of commands.c. */
#ifndef ASSIZE_COMMANDS_COMMAND_H
#define ASSIZE_COMMANDS_COMMAND_H

#include <stdio.h>

#include "base/fault.h"
#include "commands/arguments.h"

enum status {
    STATUS_DONE = 0,
    STATUS_FOUND = 1,  /* done, and there is something to look at: findings, refused rows, a broken chain */
    STATUS_FAILED = 2, /* could not do it */
};

struct command {
    const char *name;
    const char *for_whom;             /* "manager", "site lead", "inspector", "rule author", "anyone" */
    const char *usage;                /* what stands behind the name: "DIR TEST…" */
    const char *summary;              /* what it does, for the list of commands: "loads the logs into the store" */
    const char *found;                /* when the exit status is 1; NULL if never */
    const char *example;              /* a whole command line */
    const struct option_row *options; /* ended by a row without a name */
    size_t words_least, words_most;   /* how many words it takes that are no options */

    /* Prints to stdout. With a fault set the status is STATUS_FAILED, whatever is returned. */
    enum status (*run)(const struct arguments *arguments, struct fault *fault);
};

enum { WORDS_ANY = 1 << 20 }; /* for words_most */

extern const struct command command_new, command_load, command_audit, command_fixlist, command_answer, command_summary,
    command_trace, command_sample, command_chart, command_forms, command_rules, command_check_rules, command_verify,
    command_merge;

const struct command *const *commands_all(void); /* in the order of the help; NULL at the end */

/* Reads the command line, runs the command that it names, prints a fault once as `assize: text` on stderr, and returns
 * the exit status. */
int commands_run(const struct command *const *commands, int argc, char **argv);

/* Prints a line; what a record, a rule or a path says in it cannot steer the terminal. */
void print_shown(FILE *stream, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Help on stdout: of all commands, and of one. */
void help_print_all(const struct command *const *commands);
void help_print(const struct command *command);

#endif
