/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <criterion/redirect.h>
#include <stdio.h>

#include "base/version.h"
#include "commands/command.h"

static enum status count_run(const struct arguments *arguments, struct fault *fault)
{
    if (argument_flag(arguments, "break")) {
        fault_set(fault, FAULT_FILE, "clinic\x1B[1m: cannot be read");
        return STATUS_DONE;
    }
    printf("%zu words\n", argument_word_count(arguments));
    return argument_word_count(arguments) > 1 ? STATUS_FOUND : STATUS_DONE;
}

static const struct option_row count_options[] = {
    {"break", NULL, "breaks", false},
    {"month", "YYYY-MM", "a meaning that is long enough to need more than the one line that it is given here", false},
    {NULL},
};
static const struct command count_command = {
    .name = "count",
    .for_whom = "site lead",
    .usage = "DIR [WORD]",
    .summary = "counts its words",
    .found = "there are two",
    .example = "assize count clinic",
    .options = count_options,
    .words_least = 1,
    .words_most = 2,
    .run = count_run,
};
static const struct command *const commands[] = {&count_command, NULL};

static void redirect(void)
{
    cr_redirect_stdout();
    cr_redirect_stderr();
}

TestSuite(commands, .init = redirect);

static int run(char *first, char *second, char *third, char *fourth)
{
    char *argv[] = {"assize", first, second, third, fourth, NULL};
    int argc = 0;
    while (argv[argc] != NULL)
        argc++;
    int status = commands_run(commands, argc, argv);
    fflush(stderr);
    return status;
}

Test(commands, a_command_prints_and_its_status_is_returned)
{
    cr_expect_eq(run("count", "clinic", NULL, NULL), 0);
    cr_expect_eq(run("count", "clinic", "more", NULL), 1);
    cr_assert_stdout_eq_str("1 words\n2 words\n");
    cr_assert_stderr_eq_str("");
}

/* And what a file's name or a setting says in it cannot steer the terminal. */
Test(commands, a_fault_is_printed_once_and_gives_status_2)
{
    cr_expect_eq(run("count", "clinic", "--break", NULL), 2);
    cr_assert_stderr_eq_str("assize: clinic?[1m: cannot be read\n");
}

Test(commands, what_cannot_be_understood_gives_status_2_and_says_why)
{
    cr_expect_eq(run(NULL, NULL, NULL, NULL), 2);
    cr_expect_eq(run("cuont", NULL, NULL, NULL), 2);
    cr_expect_eq(run("judge", NULL, NULL, NULL), 2);
    cr_expect_eq(run("count", NULL, NULL, NULL), 2);
    cr_expect_eq(run("count", "a", "b", "c"), 2);
    cr_expect_eq(run("count", "a", "--braek", NULL), 2);
    cr_assert_stderr_eq_str("assize: which command? `assize --help` lists them\n"
                            "assize: unknown command cuont, did you mean count?\n"
                            "assize: unknown command judge; `assize --help` lists them\n"
                            "assize: too few words: assize count DIR [WORD]\n"
                            "assize: c: one word too many: assize count DIR [WORD]\n"
                            "assize: unknown option --braek, did you mean --break?\n");
}

Test(commands, the_help_of_all_lists_the_commands)
{
    cr_expect_eq(run("--help", NULL, NULL, NULL), 0);
    cr_assert_stdout_eq_str(
        "Usage: assize COMMAND …\n\n"
        "Audits the logs of waived point-of-care testing and tells which results each gap affects.\n\n"
        "  count       counts its words\n\n"
        "`assize COMMAND --help` tells more about a command, `assize --version` prints the version.\n");
}

Test(commands, the_help_of_one_tells_its_options_and_an_example)
{
    cr_expect_eq(run("count", "--help", NULL, NULL), 0);
    cr_assert_stdout_eq_str("Usage: assize count DIR [WORD]\n\n"
                            "For the site lead: counts its words\n\n"
                            "Options:\n"
                            "  --break                 breaks\n"
                            "  --month YYYY-MM         a meaning that is long enough to need more than the\n"
                            "                          one line that it is given here\n"
                            "  --help                  prints this\n\n"
                            "Example:\n"
                            "  assize count clinic\n\n"
                            "Exit status: 0 done, 1 there are two, 2 could not do it.\n");
}

Test(commands, the_version_is_printed)
{
    cr_expect_eq(run("--version", NULL, NULL, NULL), 0);
    cr_assert_stdout_eq_str("assize " ASSIZE_VERSION "\n");
}

Test(commands, each_command_of_the_table_says_what_its_help_needs)
{
    for (const struct command *const *all = commands_all(); *all != NULL; all++) {
        const struct command *command = *all;
        cr_expect(command->name && command->for_whom && command->usage && command->summary && command->example &&
                      command->options && command->run,
                  "%s", command->name);
        cr_expect_leq(command->words_least, command->words_most, "%s", command->name);
        for (const struct option_row *option = command->options; option->name != NULL; option++)
            cr_expect_not_null(option->meaning, "%s --%s", command->name, option->name);
    }
}
