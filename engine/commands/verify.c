/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize verify: for the inspector. Recomputes the chain of the store, and the manifest of a report folder. */
#include <inttypes.h>
#include <stdio.h>

#include "commands/command.h"
#include "intake/folder.h"
#include "reports/manifest.h"
#include "store/store.h"

static const struct option_row options[] = {
    {"report", "FOLDER", "check this report folder against its manifest and the store too", false},
    {NULL, NULL, NULL, false},
};

static bool verify_store(struct store *store, const char *path, bool *whole, struct fault *fault)
{
    struct chain_report chain;
    char head[DIGEST_HEX_SIZE];
    if (!store_verify(store, &chain, fault))
        return false;
    store_head(store, head);
    *whole = chain.whole;
    if (chain.whole)
        printf("%s: whole: loads %" PRIu64 ", versions of records %" PRIu64 ", chain %s\n", path, chain.loads,
               chain.versions, head);
    else
        printf("%s: broken: %s\n", path, chain.first_break);
    return true;
}

/* A report whose files are whole may still be one of another store, or of a store that was made anew. */
static bool verify_report(struct store *store, const char *folder, bool *whole, struct fault *fault)
{
    struct manifest_check check;
    bool known = false;
    if (!manifest_verify(folder, &check, fault) || !store_had_head(store, check.chain, &known, fault))
        return false;
    *whole = check.whole && known;
    if (!check.whole)
        printf("%s: broken: %s\n", folder, check.first_break);
    else if (!known)
        printf("%s: broken: the chain of this store never had the head that its manifest names\n", folder);
    else
        printf("%s: whole: files %zu\n", folder, check.files);
    return true;
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    const char *report = argument_text(arguments, "report");
    bool store_whole, report_whole = true;
    AUTO(folder) folder = NULL;
    AUTO(store) store = NULL;
    if (!folder_open(&folder, argument_word(arguments, 0), fault) ||
        !store_open(&store, folder->store_path, STORE_READ, fault) ||
        !verify_store(store, folder->store_path, &store_whole, fault))
        return STATUS_FAILED;
    if (report != NULL && !verify_report(store, report, &report_whole, fault))
        return STATUS_FAILED;
    return store_whole && report_whole ? STATUS_DONE : STATUS_FOUND;
}

const struct command command_verify = {
    .name = "verify",
    .for_whom = "inspector",
    .usage = "DIR",
    .summary = "recomputes the chain of the store, and the manifest of a report folder",
    .found = "something was changed: the first break is named",
    .example = "assize verify sample-site --report sample-site/reports/2026-10",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run,
};
