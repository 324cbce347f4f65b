/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize check-rules: for rule authors. Checks rule files and runs the examples inside them. */
#include <stdio.h>

#include "commands/command.h"
#include "rulebook/examples.h"

static const struct option_row options[] = {{NULL, NULL, NULL, false}};

struct tally {
    size_t held, failed;
};

static void count_example(void *context, const struct rule *rule, const struct example_result *result)
{
    struct tally *tally = context;
    tally->held += result->holds;
    tally->failed += !result->holds;
    if (!result->holds)
        print_shown(stdout, "%.*s: example \"%.*s\" does not hold: %.*s", TEXT_FORMAT(rule->file),
                    TEXT_FORMAT(result->name), TEXT_FORMAT(result->why));
}

static bool check(const struct rulebook *book, const struct rulebook *installed, const char *home, struct tally *tally,
                  struct fault *fault)
{
    AUTO(example_site) site = NULL;
    if (!example_site_open(&site, home, fault))
        return false;
    for (size_t i = 0; i < book->count; i++)
        if (!examples_run(site, book, installed, &book->rules[i], count_example, tally, fault))
            return false;
    return true;
}

/* The rules of the folder, or those that came with the program; with the fault set there are none. */
static bool check_folder(const char *folder, const char *home, struct rulebook *book, struct tally *tally,
                         struct fault *fault)
{
    AUTO(rulebook) installed = rulebook_new();
    if (folder == NULL)
        return rulebook_add(book, home, "rules", fault) && check(book, NULL, home, tally, fault);
    if (!rulebook_add_parts(book, home, "rules", fault) || !rulebook_add(book, folder, folder, fault))
        return false;
    if (book->count + book->broken_count == 0)
        return fault_set(fault, FAULT_RULE, "%s: there is no rule in this folder: no file ends in .lua", folder);
    return rulebook_add(installed, home, "rules", fault) && check(book, installed, home, tally, fault);
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    AUTO(rulebook) book = rulebook_new();
    struct tally tally = {0};
    char *home;
    if (!rulebook_home(&home, fault))
        return STATUS_FAILED;
    bool ok = check_folder(argument_word(arguments, 0), home, book, &tally, fault);
    memory_free(home);
    if (!ok)
        return STATUS_FAILED;
    for (size_t i = 0; i < book->broken_count; i++)
        print_shown(stderr, "assize: %.*s", TEXT_FORMAT(book->broken[i].why));
    printf("%zu %s, %zu examples hold, %zu do not\n", book->count, book->count == 1 ? "rule" : "rules", tally.held,
           tally.failed);
    if (book->broken_count)
        return STATUS_FAILED;
    return tally.failed ? STATUS_FOUND : STATUS_DONE;
}

const struct command command_check_rules = {
    .name = "check-rules",
    .for_whom = "rule author",
    .usage = "[DIR]",
    .summary = "checks rule files and runs the examples inside them",
    .found = "some examples do not hold",
    .example = "assize check-rules my-rules",
    .options = options,
    .words_least = 0,
    .words_most = 1,
    .run = run,
};
