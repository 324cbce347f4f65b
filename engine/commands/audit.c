/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize audit: for the program manager. Loads the logs, judges the period, writes the reports, prints the summary. */
#include <stdio.h>
#include <string.h>

#include "commands/open.h"
#include "commands/period.h"
#include "commands/watch.h"
#include "reports/place.h"
#include "reports/reports.h"
#include "rulebook/rulebook.h"

static const struct option_row options[] = {
    {"month", "YYYY-MM", "the month to judge", false},
    {"from", "YYYY-MM-DD", "first day of the period, with --to", false},
    {"to", "YYYY-MM-DD", "last day of the period, with --from", false},
    {"as-of", "YYYY-MM-DD", "the day from which it is seen; the period's last day if not given", false},
    {"out", "FOLDER", "where the reports go; DIR/reports/2026-10 if not given", false},
    {"fail-on", "SEVERITY", "exit with 1 from this severity on: at-risk, breach (if not given), practice, notice",
     false},
    THREADS_OPTION,
    {"redact", NULL, "show no specimen ids in the reports", false},
    {"rules", "FOLDER", "add the rules of a folder of yours", true},
    {"today", "YYYY-MM-DD", "the day of the load; the machine's date if not given", false},
    {NULL, NULL, NULL, false},
};

static char *report_folder(const struct opened *opened, const struct arguments *arguments, const struct audit_key *key)
{
    const char *out = argument_text(arguments, "out");
    if (out)
        return memory_copy_string(out);
    AUTO(arena) arena = arena_new();
    char from[DAY_TEXT_SIZE], to[DAY_TEXT_SIZE];
    day_print(key->from, from);
    day_print(key->to, to);
    struct text name =
        argument_text(arguments, "month") ? text_print(arena, "%.7s", from) : text_print(arena, "%s_%s", from, to);
    struct text path = text_print(arena, "%s/reports/%.*s", opened->folder->path, TEXT_FORMAT(name));
    return memory_copy_string(text_string(arena, path));
}

static bool place_check(const struct opened *opened, const struct arguments *arguments, const struct audit_key *key,
                        struct fault *fault)
{
    char *folder = report_folder(opened, arguments, key);
    bool good = report_place_check(folder, opened->folder, fault);
    memory_free(folder);
    return good;
}

/* Does a finding that is neither answered nor excused reach the severity? */
static bool found(const struct audit *audit, enum severity least)
{
    for (size_t i = 0; i < audit->finding_count; i++) {
        const struct finding *finding = &audit->findings[i];
        bool open = finding->state == FINDING_NEW || finding->state == FINDING_KNOWN;
        if (open && finding->severity <= least)
            return true;
    }
    return false;
}

static void print_warnings(const struct load_report *load, const struct audit *audit)
{
    for (size_t i = 0; i < load->warning_count; i++)
        print_shown(stderr, "assize: %s", load->warnings[i]);
    audit_print_warnings(audit);
}

/* Changes of lots, people and training go by the day of the load. One with a wrong clock put them out of sight. */
static bool warn_of_day_ahead(struct audit *audit, const struct load_report *load, const struct arguments *arguments,
                              struct fault *fault)
{
    day_number today;
    char last[DAY_TEXT_SIZE], as_of[DAY_TEXT_SIZE];
    if (!today_read(arguments, &today, fault))
        return false;
    day_print(load->day, last);
    day_print(audit->as_of, as_of);
    if (audit->as_of > today)
        audit_add_warning(audit,
                          text_print(audit->arena,
                                     "as of %s, a day to come: what is due by then and is not written yet counts as "
                                     "left out",
                                     as_of));
    if (load->day > today)
        audit_add_warning(audit,
                          text_print(audit->arena,
                                     "a load was dated %s, a day to come: what it and all loads since changed of "
                                     "lots, people and training is in no report before that day",
                                     last));
    return true;
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    static const char *const severities[] = {"at-risk", "breach", "practice", "notice", NULL};
    size_t least = SEVERITY_BREACH;
    struct audit_key key;
    size_t threads;
    if (!period_read(arguments, &key, fault) || !argument_choice(arguments, "fail-on", severities, &least, fault) ||
        !threads_read(arguments, &threads, fault))
        return STATUS_FAILED;
    AUTO(rulebook) book = rulebook_installed(arguments, fault);
    AUTO(opened) opened = NULL;
    AUTO(store) store = NULL;
    AUTO(load_report) load = NULL;
    AUTO(watch) watch = watch_new();
    struct progress progress = watch_progress(watch);
    if (!book || !opened_read(&opened, argument_word(arguments, 0), fault) ||
        !place_check(opened, arguments, &key, fault) ||
        !opened_store(&store, opened->folder->store_path, STORE_WRITE, fault) ||
        !opened_load(opened, store, arguments, &progress, &load, fault))
        return STATUS_FAILED;
    AUTO(audit) audit = NULL;
    struct judge_wish wish = {.key = key,
                              .progress = progress,
                              .threads = threads,
                              .portraits = true,
                              .redact = argument_flag(arguments, "redact"),
                              .keep = true};
    if (!opened_judge(opened, store, book, &wish, &audit, fault) || !warn_of_day_ahead(audit, load, arguments, fault))
        return STATUS_FAILED;
    char *folder = report_folder(opened, arguments, &key);
    bool written = reports_write(audit, folder, threads, &progress, fault);
    if (written) {
        struct output *output = output_stream(stdout);
        report_terminal(audit, folder, output);
        written = output_close(output, fault);
        opened_print_warnings(opened);
        print_warnings(load, audit);
    }
    memory_free(folder);
    if (!written || !audit_is_whole(audit, book))
        return STATUS_FAILED;
    return found(audit, (enum severity)least) ? STATUS_FOUND : STATUS_DONE;
}

const struct command command_audit = {
    .name = "audit",
    .for_whom = "manager",
    .usage = "DIR",
    .summary = "loads, judges, writes the month's reports",
    .found = "there are findings from --fail-on on",
    .example = "assize audit sample-site --month 2026-10",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run,
};
