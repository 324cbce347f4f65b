/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Prints docs/man/assize.1 (mdoc) from the table of commands: `make docs` writes it, tests/docs/run compares it. */
#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "base/version.h"
#include "commands/command.h"

/* Text between macros: what roff would take for its own is escaped. */
static void print_text(const char *text, const char *end)
{
    if (*text == '.' || *text == '\'')
        fputs("\\&", stdout);
    for (; *text != '\0'; text++) {
        if (*text == '\\')
            fputs("\\e", stdout);
        else if (*text == '-')
            fputs("\\-", stdout);
        else
            putchar(*text);
    }
    puts(end);
}

/* Help texts have neither a capital at their beginning nor a full stop. */
static void print_sentence(const char *before, const char *text)
{
    bool begins = *before == '\0';
    printf("%s%c", before, begins ? toupper((unsigned char)*text) : *text);
    print_text(text + 1, ".");
}

static void print_option(const struct option_row *option)
{
    printf(".It Fl \\-%s", option->name);
    if (option->value != NULL)
        printf(" Ar %s", option->value);
    putchar('\n');
    print_sentence("", option->meaning);
    if (option->repeats)
        puts("It may be given more than once.");
}

static void print_command(const struct command *command)
{
    printf(".Ss assize %s %s\n", command->name, command->usage);
    printf("For %s%s", strcmp(command->for_whom, "anyone") == 0 ? "" : "the ", command->for_whom);
    print_sentence(": ", command->summary);
    puts(".Bl -tag -width Ds");
    for (const struct option_row *option = command->options; option->name != NULL; option++)
        print_option(option);
    puts(".It Fl \\-help\nPrints this.\n.El");
    if (command->found != NULL)
        print_sentence(".Pp\nThe exit status is 1 if ", command->found);
    puts(".Pp\nAn example:");
    puts(".Bd -literal -offset indent");
    print_text(command->example, "");
    puts(".Ed");
}

int main(void)
{
    puts(".\\\" SPDX-License-Identifier: GPL-3.0-or-later\n"
         ".\\\" Made by make docs from the table of commands.\n"
         ".Dd November 25, 2026\n.Dt ASSIZE 1");
    printf(".Os assize %s\n", ASSIZE_VERSION);
    puts(".Sh NAME\n.Nm assize\n.Nd audits the logs of waived point-of-care testing\n"
         ".Sh SYNOPSIS\n.Nm\n.Ar command\n.Op Ar option ...\n.Op Ar word ...\n.Nm\n.Ar command\n.Fl \\-help\n"
         ".Sh DESCRIPTION\n"
         ".Nm\nloads the logs of a site, or of a program of many sites, judges them by rules, and tells which patient\n"
         "results each gap affects, with file and line.\n"
         ".Ar DIR\nis the folder of a site, or of a program.\n"
         ".Pp\nThe package insert, state and local rules and the laboratory director decide; affected results need a\n"
         "clinical review before anyone acts.\n"
         ".Sh COMMANDS");
    for (const struct command *const *command = commands_all(); *command != NULL; command++)
        print_command(*command);
    puts(".Sh ENVIRONMENT\n.Bl -tag -width NO_COLOR\n"
         ".It Ev NO_COLOR\nIf it is set, no bold or coloured words are written to a terminal.\n.El\n"
         ".Sh EXIT STATUS\n.Bl -tag -width Ds\n"
         ".It 0\nDone, and there is nothing to look at.\n"
         ".It 1\nDone, and there is something to look at, which each command says.\n"
         ".It 2\nIt could not be done: what stands on standard error says why.\n.El");
    return ferror(stdout) ? 1 : 0;
}
