/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "base/version.h"
#include "commands/command.h"

const struct command *const *commands_all(void)
{
    static const struct command *const commands[] = {
        &command_new,     &command_load,        &command_audit,  &command_fixlist, &command_answer,
        &command_summary, &command_trace,       &command_sample, &command_chart,   &command_forms,
        &command_rules,   &command_check_rules, &command_verify, &command_merge,   NULL,
    };
    return commands;
}

static const struct command *command_named(const struct command *const *commands, const char *name)
{
    for (; *commands != NULL; commands++)
        if (strcmp((*commands)->name, name) == 0)
            return *commands;
    return NULL;
}

static void refuse_unknown(const struct command *const *commands, const char *name, struct fault *fault)
{
    size_t count = 0;
    while (commands[count] != NULL)
        count++;
    const char **names = memory_new((count + 1) * sizeof *names);
    for (size_t i = 0; i < count; i++)
        names[i] = commands[i]->name;
    const char *nearest = text_nearest(text_of(name), names);
    memory_free(names);
    if (nearest != NULL)
        fault_set(fault, FAULT_USAGE, "unknown command %s, did you mean %s?", name, nearest);
    else
        fault_set(fault, FAULT_USAGE, "unknown command %s; `assize --help` lists them", name);
}

static bool has_right_words(const struct command *command, const struct arguments *arguments, struct fault *fault)
{
    size_t count = argument_word_count(arguments);
    if (count < command->words_least)
        return fault_set(fault, FAULT_USAGE, "too few words: assize %s %s", command->name, command->usage);
    if (count > command->words_most)
        return fault_set(fault, FAULT_USAGE, "%s: one word too many: assize %s %s",
                         argument_word(arguments, command->words_most), command->name, command->usage);
    return true;
}

static enum status run_command(const struct command *command, int argc, char **argv, struct fault *fault)
{
    AUTO(arguments) arguments = NULL;
    if (!arguments_read(&arguments, command->options, argc, argv, fault))
        return STATUS_FAILED;
    if (argument_help(arguments)) {
        help_print(command);
        return STATUS_DONE;
    }
    if (!has_right_words(command, arguments, fault))
        return STATUS_FAILED;
    return command->run(arguments, fault);
}

static enum status run_line(const struct command *const *commands, int argc, char **argv, struct fault *fault)
{
    const char *first = argc > 1 ? argv[1] : NULL;
    if (first == NULL) {
        fault_set(fault, FAULT_USAGE, "which command? `assize --help` lists them");
        return STATUS_FAILED;
    }
    if (strcmp(first, "--help") == 0 || strcmp(first, "-h") == 0) {
        help_print_all(commands);
        return STATUS_DONE;
    }
    if (strcmp(first, "--version") == 0) {
        puts("assize " ASSIZE_VERSION);
        return STATUS_DONE;
    }
    const struct command *command = command_named(commands, first);
    if (command == NULL) {
        refuse_unknown(commands, first, fault);
        return STATUS_FAILED;
    }
    return run_command(command, argc - 1, argv + 1, fault);
}

int commands_run(const struct command *const *commands, int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    enum status status = run_line(commands, argc, argv, &fault);
    errno = 0;
    if (fflush(stdout) != 0 || ferror(stdout))
        fault_set(&fault, FAULT_FILE, "output: cannot be written: %s", strerror(errno != 0 ? errno : EIO));
    if (fault.code == FAULT_NONE)
        return (int)status;
    print_shown(stderr, "assize: %s", fault.text);
    return STATUS_FAILED;
}

void print_shown(FILE *stream, const char *format, ...)
{
    AUTO(arena) arena = arena_new();
    va_list values;
    va_start(values, format);
    struct text line = text_print_list(arena, format, values);
    va_end(values);
    fprintf(stream, "%.*s\n", TEXT_FORMAT(utf8_shown(arena, line)));
}
