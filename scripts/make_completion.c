/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Prints docs/completion/assize, which bash completes command lines with, from the table of commands: `make docs`
 * writes it, tests/docs/run compares it. */
#include <stdio.h>
#include <string.h>

#include "commands/command.h"

static void print_commands(void)
{
    for (const struct command *const *command = commands_all(); *command != NULL; command++)
        printf("%s ", (*command)->name);
}

static void print_options(const struct command *command)
{
    printf("        %s) options='", command->name);
    for (const struct option_row *option = command->options; option->name != NULL; option++)
        printf("--%s ", option->name);
    puts("--help' ;;");
}

static bool is_file(const char *value)
{
    static const char *const files[] = {"FOLDER", "FILE", "DIR"};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++)
        if (strncmp(value, files[i], strlen(files[i])) == 0)
            return true;
    return false;
}

/* Files where an option's value is one; of other values bash knows nothing to offer. */
static void print_valued(bool files)
{
    const char *between = "        ";
    for (const struct command *const *command = commands_all(); *command != NULL; command++)
        for (const struct option_row *option = (*command)->options; option->name != NULL; option++) {
            if (option->value == NULL || is_file(option->value) != files)
                continue;
            printf("%s%s/--%s", between, (*command)->name, option->name);
            between = " | ";
        }
    puts(files ? ") mapfile -t COMPREPLY < <(compgen -f -- \"$word\") ;;" : ") COMPREPLY=() ;;");
}

int main(void)
{
    fputs("# SPDX-License-Identifier: GPL-3.0-or-later\n"
          "# Completes command lines of assize in bash. Made by make docs from the table of commands.\n"
          "_assize() {\n"
          "    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} command=${COMP_WORDS[1]} "
          "options=\n"
          "    if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
          "        mapfile -t COMPREPLY < <(compgen -W '",
          stdout);
    print_commands();
    puts("--help --version' -- \"$word\")\n"
         "        return\n"
         "    fi\n"
         "    case $command in");
    for (const struct command *const *command = commands_all(); *command != NULL; command++)
        print_options(*command);
    puts("    esac\n"
         "    case $command/$before in");
    print_valued(true);
    print_valued(false);
    puts("        *)\n"
         "            if [[ $word == -* ]]; then\n"
         "                mapfile -t COMPREPLY < <(compgen -W \"$options\" -- \"$word\")\n"
         "            else\n"
         "                mapfile -t COMPREPLY < <(compgen -f -- \"$word\")\n"
         "            fi\n"
         "            ;;\n"
         "    esac\n"
         "}\n"
         "complete -o filenames -F _assize assize");
    return ferror(stdout) ? 1 : 0;
}
