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
    {"report", "FOLDER", "check this report folder against its manifest, the store, the rules and the settings, too",
     false},
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

/* ---- what it was judged by ---- */

static const struct wording { /* of rules and of settings that are not those of the report */
    const char *others, *unknown, *unnamed;
} wordings[MANIFEST_SOURCE_COUNT] = {
    [MANIFEST_RULE] = {"rules that differ from those installed", "rules that are not installed here",
                       "installed rules that it was not judged by"},
    [MANIFEST_SETTINGS] = {"settings that differ from those here", "settings that are not here",
                           "settings here that it was not judged by"},
};

struct apart { /* names, each with a comma before it but the first */
    const struct named_digest *here;
    size_t count;
    bool *is_named; /* by the manifest; of each of those here */
    struct output *others, *unknown, *unnamed;
};

static void add_name(struct output *list, struct text name)
{
    output_print(list, "%s%.*s", output_taken(list).size == 0 ? "" : ", ", TEXT_FORMAT(name));
}

static void compare(void *context, const struct named_digest *then)
{
    struct apart *apart = context;
    size_t i = 0;
    while (i < apart->count && !text_equal(apart->here[i].name, then->name))
        i++;
    if (i == apart->count) {
        add_name(apart->unknown, then->name);
        return;
    }
    apart->is_named[i] = true;
    if (strcmp(apart->here[i].hex, then->hex) != 0)
        add_name(apart->others, then->name);
}

static void print_apart(const char *folder, const char *what, struct output *list)
{
    if (output_taken(list).size == 0)
        return;
    print_shown(stdout, "%s: %s: %.*s", folder, what, TEXT_FORMAT(output_taken(list)));
}

/* A report that other rules or settings judged is whole all the same: it may be older than they are. */
static bool compare_sources(const char *folder, enum manifest_source source, const struct named_digest *here,
                            size_t count, struct fault *fault)
{
    AUTO(output) others = output_memory();
    AUTO(output) unknown = output_memory();
    AUTO(output) unnamed = output_memory();
    struct apart apart = {here, count, memory_new((count + 1) * sizeof(bool)), others, unknown, unnamed};
    bool read = manifest_sources(folder, source, compare, &apart, fault);
    for (size_t i = 0; read && i < count; i++)
        if (!apart.is_named[i])
            add_name(unnamed, here[i].name);
    memory_free(apart.is_named);
    print_apart(folder, wordings[source].others, others);
    print_apart(folder, wordings[source].unknown, unknown);
    print_apart(folder, wordings[source].unnamed, unnamed);
    return read;
}

static bool verify_rules(const struct arguments *arguments, const char *report, struct fault *fault)
{
    AUTO(rulebook) book = rulebook_installed(arguments, fault);
    if (book == NULL)
        return false;
    struct named_digest *here = memory_new((book->count + 1) * sizeof *here);
    for (size_t i = 0; i < book->count; i++) {
        here[i].name = book->rules[i].text.id;
        memcpy(here[i].hex, book->rules[i].text.sha256, sizeof here[i].hex);
    }
    bool read = compare_sources(report, MANIFEST_RULE, here, book->count, fault);
    memory_free(here);
    return read;
}

static bool verify_settings(const struct folder *folder, const char *report, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    size_t count;
    struct named_digest *here = settings_files(folder, arena, &count);
    bool read = compare_sources(report, MANIFEST_SETTINGS, here, count, fault);
    memory_free(here);
    return read;
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    const char *report = argument_text(arguments, "report");
    bool store_whole, report_whole = true;
    AUTO(folder) folder = NULL;
    AUTO(store) store = NULL;
    if (!folder_open(&folder, argument_word(arguments, 0), fault) ||
        !opened_store(&store, folder->store_path, STORE_READ, fault) ||
        !verify_store(store, folder->store_path, &store_whole, fault))
        return STATUS_FAILED;
    if (report != NULL && (!verify_report(store, report, &report_whole, fault) ||
                           !verify_rules(arguments, report, fault) || !verify_settings(folder, report, fault)))
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
