/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The help that `--help` prints, made from the table of commands. */
#include <stdio.h>
#include <string.h>

#include "commands/command.h"

enum { LINE_WIDTH = 80, NAME_INDENT = 2 };

/* Columns that a UTF-8 text takes: all but its continuation bytes. */
static size_t columns(const char *bytes, size_t size)
{
    size_t count = 0;
    for (size_t i = 0; i < size; i++)
        count += ((unsigned char)bytes[i] & 0xc0) != 0x80;
    return count;
}

/* The text from column `at` on, broken between words, each further line indented by `indent`. */
static void print_wrapped(const char *text, size_t at, size_t indent)
{
    bool starts_line = true;
    while (*text != '\0') {
        size_t size = strcspn(text, " ");
        size_t width = columns(text, size);
        if (!starts_line && at + 1 + width > LINE_WIDTH) {
            printf("\n%*s", (int)indent, "");
            at = indent;
        } else if (!starts_line) {
            putchar(' ');
            at++;
        }
        printf("%.*s", (int)size, text);
        at += width;
        starts_line = false;
        text += size;
        text += strspn(text, " ");
    }
    putchar('\n');
}

/* `name value` on the left, the meaning from column `indent` on. */
static void print_entry(const char *name, const char *value, const char *meaning, size_t indent)
{
    char left[128];
    snprintf(left, sizeof left, "%s%s%s", name, value ? " " : "", value ? value : "");
    size_t width = columns(left, strlen(left));
    printf("%*s%s", NAME_INDENT, "", left);
    size_t at = NAME_INDENT + width;
    if (at + 2 > indent) {
        putchar('\n');
        at = 0;
    }
    printf("%*s", (int)(indent - at), "");
    print_wrapped(meaning, indent, indent);
}

void help_print_all(const struct command *const *commands)
{
    puts("Usage: assize COMMAND …\n\n"
         "Audits the logs of waived point-of-care testing and tells which results each gap affects.\n");
    for (; *commands != NULL; commands++)
        print_entry((*commands)->name, NULL, (*commands)->summary, 14);
    puts("\n`assize COMMAND --help` tells more about a command, `assize --version` prints the version.");
}

void help_print(const struct command *command)
{
    enum { OPTION_INDENT = 26 };
    printf("Usage: assize %s %s\n\n", command->name, command->usage);
    const char *article = strcmp(command->for_whom, "anyone") == 0 ? "" : "the ";
    printf("For %s%s: ", article, command->for_whom);
    print_wrapped(command->summary, strlen("For : ") + strlen(article) + strlen(command->for_whom), 0);
    puts("\nOptions:");
    for (const struct option_row *option = command->options; option->name != NULL; option++) {
        char name[64];
        snprintf(name, sizeof name, "--%s", option->name);
        print_entry(name, option->value, option->meaning, OPTION_INDENT);
    }
    print_entry("--help", NULL, "prints this", OPTION_INDENT);
    printf("\nExample:\n  %s\n\n", command->example);
    printf("Exit status: 0 done%s%s, 2 could not do it.\n", command->found ? ", 1 " : "",
           command->found ? command->found : "");
}
