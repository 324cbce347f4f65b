/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize forms: for the site lead. Log sheets of a month to print and write on, for what is not logged on a computer.
 */
#include <stdio.h>

#include "commands/open.h"
#include "reports/forms_page.h"
#include "reports/html.h"

static const struct option_row options[] = {
    {"month", "YYYY-MM", "the month that the sheets are for", false},
    {"site", "SITE", "this site of a program", false},
    {"out", "FILE", "the page to write; DIR/reports/forms-YYYY-MM.html if not given", false},
    {"today", "YYYY-MM-DD", "the day of the load; the machine's date if not given", false},
    {NULL, NULL, NULL, false},
};

/* Not a log, for example. */
static bool is_page(const char *out, struct fault *fault)
{
    return out == NULL || text_ends(text_of(out), ".html") ||
           fault_set(fault, FAULT_USAGE, "--out: %s: the name must end in .html", out);
}

static struct text page_path(struct arena *arena, const struct opened *opened, const struct arguments *arguments)
{
    const char *out = argument_text(arguments, "out");
    return out != NULL
               ? text_of(out)
               : text_print(arena, "%s/reports/forms-%s.html", opened->folder->path, argument_text(arguments, "month"));
}

static struct text title_of(const struct opened *opened, struct history *const *sites, size_t count)
{
    if (count == 1)
        return sites[0]->settings->name.size > 0 ? sites[0]->settings->name : sites[0]->settings->site;
    return opened->program.name.size > 0 ? opened->program.name : opened->program.program;
}

/* The good sites that are asked for, as they stand at the month's end as far as it is known. */
static bool read_sites(const struct opened *opened, struct store *store, const char *only, day_number last,
                       struct history **sites, size_t *count, struct fault *fault)
{
    for (size_t i = 0; i < opened->site_count; i++) {
        const struct opened_site *site = &opened->sites[i];
        if (!opened_wants(site, only))
            continue;
        if (site->settings == NULL)
            print_shown(stderr, "assize: %.*s; no sheets for this site", TEXT_FORMAT(site->why));
        else if (history_read(&sites[*count], store, site->settings, last, fault))
            ++*count;
        else
            return false;
    }
    return *count > 0 || fault_set(fault, FAULT_SETTINGS, "there is no site to make sheets for");
}

static bool write_page(struct history *const *sites, size_t count, struct text title, day_number first, day_number last,
                       const char *path, struct fault *fault)
{
    struct output *output;
    AUTO(document) page = forms_page((const struct history *const *)sites, count, title, first, last);
    if (!output_page(&output, path, fault))
        return false;
    html_write(page, output);
    return output_close(output, fault);
}

static bool make(const struct opened *opened, struct store *store, const struct arguments *arguments, day_number first,
                 day_number last, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct history **sites = memory_new((opened->site_count + 1) * sizeof *sites);
    size_t count = 0;
    struct text path = page_path(arena, opened, arguments);
    bool made = read_sites(opened, store, argument_text(arguments, "site"), last, sites, &count, fault) &&
                write_page(sites, count, title_of(opened, sites, count), first, last, path.data, fault);
    for (size_t i = 0; i < count; i++)
        history_free(sites[i]);
    memory_free(sites);
    if (made)
        print_shown(stdout, "Log sheets to print: %.*s", TEXT_FORMAT(path));
    return made;
}

/* The logs are loaded first, so that an analyzer that was entered a minute ago has its sheets. */
static enum status run(const struct arguments *arguments, struct fault *fault)
{
    AUTO(opened) opened = NULL;
    AUTO(store) store = NULL;
    AUTO(load_report) report = NULL;
    day_number first, last;
    if (!argument_flag(arguments, "month")) {
        fault_set(fault, FAULT_USAGE, "say which month: --month YYYY-MM");
        return STATUS_FAILED;
    }
    if (!is_page(argument_text(arguments, "out"), fault) || !argument_month(arguments, "month", &first, &last, fault) ||
        !opened_read(&opened, argument_word(arguments, 0), fault) ||
        !opened_knows(opened, argument_text(arguments, "site"), fault) ||
        !opened_store(&store, opened->folder->store_path, STORE_WRITE, fault) ||
        !opened_load(opened, store, arguments, NULL, &report, fault))
        return STATUS_FAILED;
    if (report->refusal_count > 0)
        fprintf(stderr, "assize: refused rows: %zu; `assize load` lists them\n", report->refusal_count);
    return make(opened, store, arguments, first, last, fault) ? STATUS_DONE : STATUS_FAILED;
}

const struct command command_forms = {
    .name = "forms",
    .for_whom = "site lead",
    .usage = "DIR --month YYYY-MM",
    .summary = "writes log sheets of a month to print: days, analyzers, levels, tasks filled in",
    .example = "assize forms sample-site --month 2026-11",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run,
};
