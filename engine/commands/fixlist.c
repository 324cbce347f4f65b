/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize fixlist: for the site lead. The open findings of a site as a list to work through. */
#include "commands/site_page.h"
#include "reports/fixlist_page.h"

static const struct option_row options[] = {
    JUDGED_OPTIONS,
    PAGE_OUT_OPTION,
    {NULL, NULL, NULL, false},
};

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    return site_pages(arguments, fixlist_page, fault) ? STATUS_DONE : STATUS_FAILED;
}

const struct command command_fixlist = {
    .name = "fixlist",
    .for_whom = "site lead",
    .usage = "DIR",
    .summary = "lists what is to be fixed at a site, the most urgent first",
    .example = "assize fixlist sample-site",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run,
};
