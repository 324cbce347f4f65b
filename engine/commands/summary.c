/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize summary: for the inspector. How a site stands, the evidence by requirement, its corrective actions. */
#include "commands/site_page.h"
#include "reports/summary_page.h"

static const struct option_row options[] = {
    JUDGED_OPTIONS,
    PAGE_OUT_OPTION,
    {NULL, NULL, NULL, false},
};

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    return site_pages(arguments, summary_page, fault) ? STATUS_DONE : STATUS_FAILED;
}

const struct command command_summary = {
    .name = "summary",
    .for_whom = "inspector",
    .usage = "DIR",
    .summary = "sums up how a site stands, with the evidence by requirement",
    .example = "assize summary sample-site --out summary.pdf",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run,
};
