/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize merge: for the program manager. Judges the sites of all shards of a program as one program and writes its
 * report. Nothing is loaded. What it found is kept in each shard's store, in place of the shard's own audit, which did
 * not see the other shards. */
#include "commands/shards.h"
#include "commands/watch.h"
#include "intake/file.h"
#include "reports/place.h"
#include "reports/reports.h"

static const struct option_row options[] = {
    {"month", "YYYY-MM", "the month to judge; the audit kept last, if it is the same in all stores, if not given",
     false},
    {"from", "YYYY-MM-DD", "first day of the period, with --to", false},
    {"to", "YYYY-MM-DD", "last day of the period, with --from", false},
    {"as-of", "YYYY-MM-DD", "the day from which it is seen; the period's last day if not given", false},
    THREADS_OPTION,
    {"redact", NULL, "show no specimen ids in the reports", false},
    {"rules", "FOLDER", "add the rules of a folder of yours", true},
    {NULL, NULL, NULL, false},
};

static bool holds(const char *folder, const char *name)
{
    char *path = path_join(folder, name);
    bool there = file_exists(path);
    memory_free(path);
    return there;
}

/* The folder for the report is easily forgotten: the first shard would take it. */
static bool is_for_report(const char *out, struct fault *fault)
{
    bool is_input = holds(out, "program.yaml") || holds(out, "site.yaml") || holds(out, "assize.db");
    bool is_file = file_exists(out) && !holds(out, ".");
    return !(is_input || is_file) ||
           fault_set(fault, FAULT_USAGE, "%s: is no folder for a report: OUT stands before the stores", out);
}

static bool is_apart(const char *out, const struct shards *shards, struct fault *fault)
{
    for (size_t i = 0; i < shards->stores.count; i++)
        if (!report_place_check(out, shards->opened[i]->folder, fault))
            return false;
    return true;
}

static bool write_out(const struct audit *audit, const char *folder, const struct judge_wish *wish, struct fault *fault)
{
    if (!reports_write(audit, folder, wish->threads, &wish->progress, fault))
        return false;
    struct output *output = output_stream(stdout);
    report_terminal(audit, folder, output);
    return output_close(output, fault);
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    const char *out = argument_word(arguments, 0);
    size_t threads;
    struct audit_key key;
    AUTO(rulebook) book = rulebook_installed(arguments, fault);
    AUTO(shards) shards = NULL;
    AUTO(watch) watch = watch_new();
    AUTO(audit) audit = NULL;
    if (!book || !threads_read(arguments, &threads, fault) || !is_for_report(out, fault) ||
        !shards_read(&shards, arguments, 1, fault) || !is_apart(out, shards, fault) ||
        !shards_period(shards, arguments, &key, fault))
        return STATUS_FAILED;
    struct judge_wish wish = {.key = key,
                              .progress = watch_progress(watch),
                              .threads = threads,
                              .portraits = true,
                              .redact = argument_flag(arguments, "redact"),
                              .keep = true};
    if (!opened_judge_all(shards->opened, &shards->stores, book, &wish, &audit, fault))
        return STATUS_FAILED;
    shards_warn_of_old_loads(shards, audit);
    if (!write_out(audit, out, &wish, fault))
        return STATUS_FAILED;
    for (size_t i = 0; i < shards->stores.count; i++)
        opened_print_warnings(shards->opened[i]);
    audit_print_warnings(audit);
    return audit_is_whole(audit, book) ? STATUS_DONE : STATUS_FAILED;
}

const struct command command_merge = {
    .name = "merge",
    .for_whom = "manager",
    .usage = "OUT STORE…",
    .summary = "joins the shards of a program, each audited by itself, into one report",
    .example = "assize merge reports/2026-10 shards/*",
    .options = options,
    .words_least = 2,
    .words_most = WORDS_ANY,
    .run = run,
};
