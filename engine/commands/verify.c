/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize verify: for the inspector. Recomputes the chain of the store, and the manifest of a report folder. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "commands/open.h"
#include "intake/folder.h"
#include "reports/manifest.h"
#include "store/store.h"

static const struct option_row options[] = {
    {"report", "FOLDER", "check this report folder against its manifest, the store and the rules too", false},
    {"rules", "FOLDER", "with --report: add the rules of a folder of yours, as for audit", true},
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
        print_shown(stdout, "%s: whole: loads %" PRIu64 ", versions of records %" PRIu64 ", chain %s", path,
                    chain.loads, chain.versions, head);
    else
        print_shown(stdout, "%s: broken: %s", path, chain.first_break);
    return true;
}

struct search { /* for a head of a manifest that the store once had */
    struct store *store;
    struct fault *fault;
    bool known, failed;
};

static void look_for_head(void *context, const char *head)
{
    struct search *search = context;
    bool had = false;
    search->failed = search->failed || !store_had_head(search->store, head, &had, search->fault);
    search->known = search->known || had;
}

/* A report whose files are whole may still be one of another store, or of a store that was made anew. */
static bool verify_report(struct store *store, const char *folder, bool *whole, struct fault *fault)
{
    struct manifest_check check;
    struct search search = {.store = store, .fault = fault};
    if (!manifest_verify(folder, &check, fault) || !manifest_heads(folder, look_for_head, &search, fault) ||
        search.failed)
        return false;
    *whole = check.whole && search.known;
    if (!check.whole)
        print_shown(stdout, "%s: broken: %s", folder, check.first_break);
    else if (!search.known)
        print_shown(stdout, "%s: broken: the chain of this store never had the head that its manifest names", folder);
    else
        print_shown(stdout, "%s: whole: files %zu", folder, check.files);
    return true;
}

/* ---- rules ---- */

struct rules_apart { /* ids, each with a comma before it but the first */
    const struct rulebook *book;
    bool *is_named; /* by the manifest; of each rule of the book */
    struct output *others, *unknown, *unnamed;
};

static void add_id(struct output *list, struct text id)
{
    output_print(list, "%s%.*s", output_taken(list).size == 0 ? "" : ", ", TEXT_FORMAT(id));
}

static void compare_rule(void *context, struct text id, const char *sha256)
{
    struct rules_apart *apart = context;
    const struct rule *rule = rulebook_find(apart->book, id);
    if (rule == NULL) {
        add_id(apart->unknown, id);
        return;
    }
    apart->is_named[rule - apart->book->rules] = true;
    if (strcmp(rule->text.sha256, sha256) != 0)
        add_id(apart->others, id);
}

static void print_apart(const char *folder, const char *what, struct output *list)
{
    if (output_taken(list).size == 0)
        return;
    print_shown(stdout, "%s: %s: %.*s", folder, what, TEXT_FORMAT(output_taken(list)));
}

/* A report that other rules judged is whole all the same: it may be older than they are. */
static bool verify_rules(const struct arguments *arguments, const char *folder, struct fault *fault)
{
    AUTO(rulebook) book = rulebook_installed(arguments, fault);
    if (book == NULL)
        return false;
    AUTO(output) others = output_memory();
    AUTO(output) unknown = output_memory();
    AUTO(output) unnamed = output_memory();
    struct rules_apart apart = {book, memory_new((book->count + 1) * sizeof(bool)), others, unknown, unnamed};
    bool read = manifest_rules(folder, compare_rule, &apart, fault);
    for (size_t i = 0; read && i < book->count; i++)
        if (!apart.is_named[i])
            add_id(unnamed, book->rules[i].text.id);
    memory_free(apart.is_named);
    print_apart(folder, "rules that differ from those installed", others);
    print_apart(folder, "rules that are not installed here", unknown);
    print_apart(folder, "installed rules that it was not judged by", unnamed);
    return read;
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
    if (report != NULL &&
        (!verify_report(store, report, &report_whole, fault) || !verify_rules(arguments, report, fault)))
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
