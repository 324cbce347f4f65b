/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize load: for the program manager. Brings the logs into the store and says what changed. */
#include <inttypes.h>
#include <stdio.h>

#include "commands/open.h"
#include "commands/watch.h"

static const struct option_row options[] = {
    {"today", "YYYY-MM-DD", "the day of the load; the machine's date if not given", false},
    {NULL, NULL, NULL, false},
};

static void print_kind(const struct record_kind *kind, const struct load_counts *counts)
{
    if (counts->files == 0 && counts->withdrawn == 0)
        return;
    printf("%-12s %9" PRIu64 " %9" PRIu64 " %9" PRIu64 " %9" PRIu64 " %9" PRIu64, kind->name, counts->read,
           counts->added, counts->amended, counts->withdrawn, counts->refused);
    if (counts->filled > 0)
        printf("   %" PRIu64 " completed", counts->filled);
    if (counts->repeated > 0)
        printf("   %" PRIu64 " repeated", counts->repeated);
    putchar('\n');
}

static void print_report(const struct load_report *report)
{
    printf("%-12s %9s %9s %9s %9s %9s\n", "", "read", "new", "amended", "withdrawn", "refused");
    for (size_t k = 0; k < KIND_COUNT; k++)
        print_kind(kind_of((enum kind_id)k), &report->kinds[k]);
    if (report->refusal_count > 0)
        printf("\nRefused:\n");
    for (size_t i = 0; i < report->refusal_count; i++)
        print_shown(stdout, "%s", report->refusals[i]);
}

/* The other sites were loaded all the same. */
static void print_bad_sites(const struct opened *opened)
{
    for (size_t i = 0; i < opened->site_count; i++)
        if (opened->sites[i].settings == NULL)
            print_shown(stderr, "assize: %.*s; not loaded", TEXT_FORMAT(opened->sites[i].why));
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    AUTO(opened) opened = NULL;
    AUTO(store) store = NULL;
    AUTO(load_report) report = NULL;
    AUTO(watch) watch = watch_new();
    struct progress progress = watch_progress(watch);
    if (!opened_read(&opened, argument_word(arguments, 0), fault) ||
        !opened_store(&store, opened->folder->store_path, STORE_WRITE, fault) ||
        !opened_load(opened, store, arguments, &progress, &report, fault))
        return STATUS_FAILED;
    opened_print_warnings(opened);
    for (size_t i = 0; i < report->warning_count; i++)
        print_shown(stderr, "assize: %s", report->warnings[i]);
    print_report(report);
    print_bad_sites(opened);
    if (opened->bad_count > 0)
        return STATUS_FAILED;
    return report->refusal_count > 0 ? STATUS_FOUND : STATUS_DONE;
}

const struct command command_load = {
    .name = "load",
    .for_whom = "manager",
    .usage = "DIR",
    .summary = "brings the logs into the store",
    .found = "some rows or files were refused",
    .example = "assize load sample-site",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run,
};
