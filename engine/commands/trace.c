/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize trace: for the inspector. For a patient result the facts that the audit judged it by, each with the record
 * behind it, the verdict of each rule on that run, and the findings that name it. Audit and trace share one walk, so
 * they cannot disagree. */
#include <stdio.h>
#include <string.h>

#include "commands/site_page.h"
#include "reports/explanation_json.h"
#include "reports/trace_page.h"
#include "rulebook/explain.h"

static const struct option_row options[] = {
    JUDGED_OPTIONS,
    PAGE_OUT_OPTION,
    {"format", "json", "print JSON instead", false},
    {NULL, NULL, NULL, false},
};

/* SITE/TEST names a test in a program; a plain id is looked for at each site. */
static bool names_site(const struct opened_site *site, const char *word, struct text *test)
{
    *test = text_of(word);
    if (test->size > site->site.size + 1 && word[site->site.size] == '/' &&
        !memcmp(word, site->site.data, site->site.size)) {
        *test = (struct text){word + site->site.size + 1, test->size - site->site.size - 1};
        return true;
    }
    return !strchr(word, '/');
}

struct tracing {
    const struct judged *judged;
    struct explain_request request;
    struct json *json; /* or */
    struct document *page;
    struct explanations **kept; /* what the page borrows */
    size_t kept_count, kept_capacity;
};

static void tell(struct tracing *tracing, struct explanations *explanations)
{
    if (tracing->json)
        explanation_json(tracing->json, &explanations->all[0], explanations);
    else
        trace_result(tracing->page, &explanations->all[0], explanations);
    VECTOR_GROW(tracing->kept, tracing->kept_count, tracing->kept_capacity);
    tracing->kept[tracing->kept_count++] = explanations;
}

static bool trace_word(struct tracing *tracing, const char *word, struct fault *fault)
{
    const struct opened *opened = tracing->judged->opened;
    bool found = false;
    for (size_t s = 0; s < opened->site_count; s++) {
        struct explain_request here = tracing->request;
        struct text test;
        AUTO(explanations) explanations = NULL;
        if (!opened->sites[s].settings || !names_site(&opened->sites[s], word, &test))
            continue;
        here.settings = opened->sites[s].settings;
        here.presence_site = (uint32_t)s;
        if (!explain_tests(&explanations, &here, &test, 1, fault))
            return false;
        if (!explanations->all[0].known)
            continue;
        found = true;
        tell(tracing, explanations);
        explanations = NULL;
    }
    return found ? true : fault_set(fault, FAULT_USAGE, "%s: no such test up to that day", word);
}

static bool trace_words(struct tracing *tracing, const struct arguments *arguments, struct fault *fault)
{
    for (size_t i = 1; i < argument_word_count(arguments); i++)
        if (!trace_word(tracing, argument_word(arguments, i), fault))
            return false;
    return true;
}

/* Nothing is printed unless every word is a test. */
static bool trace_json(struct tracing *tracing, const struct arguments *arguments, struct fault *fault)
{
    AUTO(output) text = output_memory();
    tracing->json = json_new(text);
    json_list(tracing->json, NULL, false);
    bool ok = trace_words(tracing, arguments, fault);
    json_end(tracing->json);
    json_free(tracing->json);
    if (!ok)
        return false;
    struct output *output = output_stream(stdout);
    output_text(output, output_taken(text));
    return output_close(output, fault);
}

static bool trace_document(struct tracing *tracing, const struct arguments *arguments, struct fault *fault)
{
    AUTO(document) page = tracing->page = trace_page();
    if (!trace_words(tracing, arguments, fault))
        return false;
    trace_end(page);
    return page_out(page, tracing->judged->key.as_of, arguments, fault);
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    static const char *const formats[] = {"json", NULL};
    size_t format = 0;
    AUTO(judged) judged = NULL;
    if (!argument_choice(arguments, "format", formats, &format, fault) || !page_out_check(arguments, fault) ||
        !judged_open(&judged, arguments, fault))
        return STATUS_FAILED;
    AUTO(presence) presence = opened_presence(judged->opened, judged->store, judged->key.as_of, fault);
    if (!presence)
        return STATUS_FAILED;
    struct tracing tracing = {.judged = judged,
                              .request = {.presence = presence,
                                          .book = judged->book,
                                          .store = judged->store,
                                          .program = &judged->opened->program,
                                          .from = judged->key.from,
                                          .to = judged->key.to,
                                          .as_of = judged->key.as_of,
                                          .redact = argument_flag(arguments, "redact")}};
    bool ok = argument_flag(arguments, "format") ? trace_json(&tracing, arguments, fault)
                                                 : trace_document(&tracing, arguments, fault);
    for (size_t i = 0; i < tracing.kept_count; i++)
        explanations_free(tracing.kept[i]);
    memory_free(tracing.kept);
    return ok ? STATUS_DONE : STATUS_FAILED;
}

const struct command command_trace = {
    .name = "trace",
    .for_whom = "inspector",
    .usage = "DIR TEST…",
    .summary = "shows the whole chain behind patient results",
    .example = "assize trace sample-site T-1042",
    .options = options,
    .words_least = 2,
    .words_most = WORDS_ANY,
    .run = run,
};
