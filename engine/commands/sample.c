/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize sample: for the manager and the inspector. Draws the results that a review by hand needs, and prints them as a
 * checklist, each with its chain in short. */
#include <stdio.h>
#include <stdlib.h>

#include "commands/judged.h"
#include "commands/period.h"
#include "commands/site_page.h"
#include "reports/checklist.h"
#include "stats/draw.h"
#include "stats/sampling.h"

static const struct option_row options[] = {
    {"confidence", "0.95", "how sure to be that a bad result is among those drawn", false},
    {"detect", "0.05", "the share of bad results that is to be found", false},
    {"seed", "N", "draw by this number; if not given it follows from the records, and nobody can choose the draw",
     false},
    JUDGED_OPTIONS,
    {"format", "json", "print JSON instead of text", false},
    PAGE_OUT_OPTION,
    {NULL, NULL, NULL, false},
};

struct member { /* a patient result of the period */
    size_t site;
    struct text test;
    struct record_place place;
};

struct sampling {
    struct arena *arena;
    const struct judged *judged;
    const char *only;
    struct member *members; /* by site and time */
    size_t count, capacity;
    size_t *drawn; /* places of members, in order */
    size_t drawn_count;
    struct explanations **explained; /* of each site, NULL where none is drawn */
};

/* ---- the results of the period ---- */

static bool take_members(struct sampling *sampling, size_t site, struct fault *fault)
{
    const struct audit_key *key = &sampling->judged->key;
    AUTO(history) history = NULL;
    if (!history_read(&history, sampling->judged->store, sampling->judged->opened->sites[site].settings, key->as_of,
                      fault))
        return false;
    for (size_t i = 0; i < history->run_count; i++) {
        const struct run *run = &history->runs[i];
        day_number day = history_day(history, run->at);
        if (run->is_control || day < key->from || day > key->to)
            continue;
        VECTOR_GROW(sampling->members, sampling->count, sampling->capacity);
        sampling->members[sampling->count++] = (struct member){
            site,
            text_keep(sampling->arena, run_test(run)),
            {text_keep(sampling->arena, history_path(history, run->file)), run->line},
        };
    }
    return true;
}

static bool take_all(struct sampling *sampling, struct fault *fault)
{
    const struct opened *opened = sampling->judged->opened;
    for (size_t i = 0; i < opened->site_count; i++) {
        if (!opened_wants(&opened->sites[i], sampling->only))
            continue;
        if (opened->sites[i].settings == NULL)
            print_shown(stderr, "assize: %.*s; nothing of this site is drawn", TEXT_FORMAT(opened->sites[i].why));
        else if (!take_members(sampling, i, fault))
            return false;
    }
    return true;
}

/* ---- the draw ---- */

/* 59 bits of a digest, which have at most 18 digits, so that it can be given to --seed. */
static uint64_t seed_of_records(const struct checklist *checklist, struct arena *arena)
{
    enum { DROPPED_BITS = 5 };
    char from[DAY_TEXT_SIZE], to[DAY_TEXT_SIZE];
    unsigned char digest[DIGEST_SIZE];
    day_print(checklist->from, from);
    day_print(checklist->to, to);
    struct text whole =
        text_print(arena, "sample\n%.*s\n%s\n%s\n%s\n", TEXT_FORMAT(checklist->of), from, to, checklist->chain_head);
    digest_of(whole.data, whole.size, digest);
    uint64_t seed = 0;
    for (int i = 0; i < 8; i++)
        seed = seed << 8 | digest[i];
    return seed >> DROPPED_BITS;
}

static int by_size(const void *a, const void *b)
{
    size_t x = *(const size_t *)a, y = *(const size_t *)b;
    return (x > y) - (x < y);
}

static void draw(struct sampling *sampling, struct checklist *checklist)
{
    checklist->population = sampling->count;
    checklist->bad = bad_records(sampling->count, checklist->detect);
    size_t size = (size_t)discovery_sample(sampling->count, checklist->bad, checklist->confidence);
    sampling->drawn = memory_new((size + 1) * sizeof *sampling->drawn);
    sampling->drawn_count = draw_without_return(checklist->seed, sampling->count, size, sampling->drawn);
    qsort(sampling->drawn, sampling->drawn_count, sizeof *sampling->drawn, by_size);
}

/* ---- the chains ---- */

/* The results drawn at one site, from `first` on: walks it once and fills their items. */
static bool explain_site(struct sampling *sampling, const struct explain_request *request, size_t first, size_t end,
                         struct checklist *checklist, struct fault *fault)
{
    size_t site = sampling->members[sampling->drawn[first]].site;
    struct explain_request here = *request;
    struct text *tests = memory_new((end - first) * sizeof *tests);
    for (size_t i = first; i < end; i++)
        tests[i - first] = sampling->members[sampling->drawn[i]].test;
    here.settings = sampling->judged->opened->sites[site].settings;
    here.presence_site = (uint32_t)site;
    bool ok = explain_tests(&sampling->explained[site], &here, tests, end - first, fault);
    for (size_t i = first; ok && i < end; i++)
        checklist_item_fill(&checklist->items[i], &sampling->explained[site]->all[i - first],
                            sampling->members[sampling->drawn[i]].place, sampling->arena);
    memory_free(tests);
    return ok;
}

static bool explain_all(struct sampling *sampling, const struct explain_request *request, struct checklist *checklist,
                        struct fault *fault)
{
    checklist->count = sampling->drawn_count;
    checklist->items = memory_new((checklist->count + 1) * sizeof *checklist->items);
    if (sampling->members == NULL || sampling->drawn == NULL)
        return true; /* there was nothing to draw from */
    for (size_t first = 0, end; first < sampling->drawn_count; first = end) {
        end = first + 1;
        while (end < sampling->drawn_count &&
               sampling->members[sampling->drawn[end]].site == sampling->members[sampling->drawn[first]].site)
            end++;
        if (!explain_site(sampling, request, first, end, checklist, fault))
            return false;
    }
    return true;
}

static void sampling_clear(struct sampling *sampling, struct checklist *checklist)
{
    for (size_t i = 0; sampling->explained != NULL && i < sampling->judged->opened->site_count; i++)
        explanations_free(sampling->explained[i]);
    memory_free(sampling->explained);
    memory_free(sampling->drawn);
    memory_free(sampling->members);
    memory_free(checklist->items);
}

/* ---- what it is a sample of ---- */

/* A site alone, or the program. */
static void name_it(const struct sampling *sampling, struct checklist *checklist)
{
    const struct opened *opened = sampling->judged->opened;
    const struct opened_site *site = NULL;
    for (size_t i = 0; i < opened->site_count; i++)
        if (opened->site_count == 1 || (sampling->only != NULL && opened_wants(&opened->sites[i], sampling->only)))
            site = &opened->sites[i];
    checklist->of = site != NULL ? site->site : opened->program.program;
    checklist->title = site == NULL ? opened->program.name : site->settings != NULL ? site->settings->name : site->site;
    if (checklist->title.size == 0)
        checklist->title = checklist->of;
    checklist->has_sites = site == NULL;
}

/* ---- output ---- */

static bool put_out(const struct checklist *checklist, const struct arguments *arguments, struct fault *fault)
{
    if (!argument_flag(arguments, "format")) {
        AUTO(document) page = checklist_page(checklist);
        return page_out(page, checklist->as_of, arguments, fault);
    }
    struct output *output = output_stream(stdout);
    checklist_json(checklist, output);
    return output_close(output, fault);
}

static bool sample(struct sampling *sampling, struct checklist *checklist, const struct arguments *arguments,
                   struct fault *fault)
{
    const struct judged *judged = sampling->judged;
    if (!argument_share(arguments, "confidence", &checklist->confidence, fault) ||
        !argument_share(arguments, "detect", &checklist->detect, fault) || !take_all(sampling, fault))
        return false;
    name_it(sampling, checklist);
    store_head(judged->store, checklist->chain_head);
    checklist->seed = seed_of_records(checklist, sampling->arena);
    if (!argument_whole(arguments, "seed", &checklist->seed, fault))
        return false;
    draw(sampling, checklist);
    AUTO(presence) presence = opened_presence(judged->opened, judged->store, judged->key.as_of, fault);
    if (presence == NULL)
        return false;
    struct explain_request request = {.book = judged->book,
                                      .store = judged->store,
                                      .program = &judged->opened->program,
                                      .presence = presence,
                                      .from = judged->key.from,
                                      .to = judged->key.to,
                                      .as_of = judged->key.as_of,
                                      .redact = argument_flag(arguments, "redact")};
    return explain_all(sampling, &request, checklist, fault) && put_out(checklist, arguments, fault);
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    static const char *const formats[] = {"json", NULL};
    size_t format = 0;
    AUTO(judged) judged = NULL;
    if (!argument_choice(arguments, "format", formats, &format, fault))
        return STATUS_FAILED;
    if (argument_flag(arguments, "format") && argument_flag(arguments, "out")) {
        fault_set(fault, FAULT_USAGE, "--out writes a page: without --format");
        return STATUS_FAILED;
    }
    if (!page_out_check(arguments, fault) || !judged_open(&judged, arguments, fault))
        return STATUS_FAILED;
    AUTO(arena) arena = arena_new();
    struct sampling sampling = {.arena = arena,
                                .judged = judged,
                                .only = argument_text(arguments, "site"),
                                .explained = memory_new((judged->opened->site_count + 1) * sizeof *sampling.explained)};
    struct checklist checklist = {.from = judged->key.from,
                                  .to = judged->key.to,
                                  .as_of = judged->key.as_of,
                                  .confidence = 0.95,
                                  .detect = 0.05,
                                  .is_redacted = argument_flag(arguments, "redact"),
                                  .seed_was_given = argument_flag(arguments, "seed")};
    bool done = sample(&sampling, &checklist, arguments, fault);
    sampling_clear(&sampling, &checklist);
    return done ? STATUS_DONE : STATUS_FAILED;
}

const struct command command_sample = {
    .name = "sample",
    .for_whom = "manager and the inspector",
    .usage = "DIR",
    .summary = "draws the results that a review by hand needs, as a checklist",
    .example = "assize sample sample-site --month 2026-10 --out review.html",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run,
};
