/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize trace: for the inspector. For a patient result the facts that the audit judged it by, each with the record
 * behind it, the verdict of each rule on that run, and the findings that name it. Audit and trace share one walk, so
 * they cannot disagree. */
#include <stdio.h>
#include <string.h>

#include "commands/open.h"
#include "commands/period.h"
#include "rulebook/explain.h"

static const struct option_row options[] = {
    {"month", "YYYY-MM", "the month to look at; the audit kept last if not given", false},
    {"from", "YYYY-MM-DD", "first day of the period, with --to", false},
    {"to", "YYYY-MM-DD", "last day of the period, with --from", false},
    {"as-of", "YYYY-MM-DD", "the day from which it is seen", false},
    {"format", "json", "print JSON instead of text", false},
    {"rules", "FOLDER", "add the rules of a folder of yours", true},
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

static void print_text(const struct explanation *explanation, const struct explanations *explanations)
{
    printf("%.*s at %.*s, run on %.*s\n\nWhat held at that moment\n", TEXT_FORMAT(explanation->test),
           TEXT_FORMAT(explanation->site), TEXT_FORMAT(explanation->performed_at));
    for (size_t i = 0; i < explanation->link_count; i++) {
        const struct explained_fact *link = &explanation->links[i];
        printf("  %-26s %-24.*s", link->name, TEXT_FORMAT(link->value));
        if (link->place.line)
            printf(" %.*s:%u", TEXT_FORMAT(link->place.file), link->place.line);
        printf("\n");
    }
    printf("\nWhat the rules say of it\n");
    for (size_t i = 0; i < explanation->verdict_count; i++) {
        const struct explained_verdict *verdict = &explanation->verdicts[i];
        printf("  %-8s %.*s%s%.*s\n", verdict->failed ? "failed" : "met", TEXT_FORMAT(verdict->rule->id),
               verdict->about.data ? ": " : "", TEXT_FORMAT(verdict->about.data ? verdict->about : TEXT("")));
    }
    printf("\nFindings that name it\n");
    for (size_t i = 0; i < explanation->finding_count; i++)
        printf("  %s %s %.*s: %.*s\n", explanation->findings[i]->number,
               severity_name(explanation->findings[i]->severity), TEXT_FORMAT(explanation->findings[i]->rule->id),
               TEXT_FORMAT(explanation->findings[i]->says));
    if (!explanation->finding_count)
        printf("  none\n");
    for (size_t i = 0; i < explanations->silent_count; i++)
        printf("%snot judged: %.*s (%.*s)\n", i ? "" : "\n", TEXT_FORMAT(explanations->silent[i].rule->id),
               TEXT_FORMAT(explanations->silent[i].why));
    printf("\nThe package insert, state and local rules and the laboratory director decide.\n\n");
}

static void json_place(struct json *json, const struct record_place *place)
{
    json_text(json, "file", place->line ? place->file : (struct text){0});
    if (place->line)
        json_whole(json, "line", place->line);
    else
        json_null(json, "line");
}

static void print_json(struct json *json, const struct explanation *explanation)
{
    json_object(json, NULL, false);
    json_text(json, "test", explanation->test);
    json_text(json, "site", explanation->site);
    json_text(json, "performed_at", explanation->performed_at);
    json_list(json, "facts", false);
    for (size_t i = 0; i < explanation->link_count; i++) {
        json_object(json, NULL, true);
        json_string(json, "fact", explanation->links[i].name);
        json_text(json, "value", explanation->links[i].value);
        json_place(json, &explanation->links[i].place);
        json_end(json);
    }
    json_end(json);
    json_list(json, "verdicts", false);
    for (size_t i = 0; i < explanation->verdict_count; i++) {
        json_object(json, NULL, true);
        json_text(json, "rule", explanation->verdicts[i].rule->id);
        json_text(json, "about", explanation->verdicts[i].about);
        json_string(json, "verdict", explanation->verdicts[i].failed ? "failed" : "met");
        json_end(json);
    }
    json_end(json);
    json_list(json, "findings", true);
    for (size_t i = 0; i < explanation->finding_count; i++)
        json_string(json, NULL, explanation->findings[i]->number);
    json_end(json);
    json_end(json);
}

static bool explain_word(const struct opened *opened, const struct explain_request *request, const char *word,
                         struct json *json, struct fault *fault)
{
    bool found = false;
    for (size_t s = 0; s < opened->site_count; s++) {
        struct explain_request here = *request;
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
        if (json)
            print_json(json, &explanations->all[0]);
        else
            print_text(&explanations->all[0], explanations);
    }
    return found ? true : fault_set(fault, FAULT_USAGE, "%s: no such test up to that day", word);
}

static bool explain_all(const struct arguments *arguments, const struct opened *opened,
                        const struct explain_request *request, struct fault *fault)
{
    bool as_json = argument_flag(arguments, "format"), ok = true;
    struct output *output = output_stream(stdout);
    struct json *json = as_json ? json_new(output) : NULL;
    if (json)
        json_list(json, NULL, false);
    for (size_t i = 1; ok && i < argument_word_count(arguments); i++)
        ok = explain_word(opened, request, argument_word(arguments, i), json, fault);
    if (json)
        json_end(json);
    json_free(json);
    return output_close(output, fault) && ok;
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    static const char *const formats[] = {"json", NULL};
    size_t format = 0;
    struct audit_key key;
    AUTO(rulebook) book = rulebook_installed(arguments, fault);
    AUTO(opened) opened = NULL;
    AUTO(store) store = NULL;
    if (!book || !argument_choice(arguments, "format", formats, &format, fault) ||
        !opened_read(&opened, argument_word(arguments, 0), fault) ||
        !store_open(&store, opened->folder->store_path, STORE_READ, fault) ||
        !period_or_last(arguments, store, &key, fault))
        return STATUS_FAILED;
    AUTO(presence) presence = opened_presence(opened, store, key.as_of, fault);
    if (!presence)
        return STATUS_FAILED;
    struct explain_request request = {.presence = presence,

                                      .book = book,
                                      .store = store,
                                      .program = &opened->program,
                                      .from = key.from,
                                      .to = key.to,
                                      .as_of = key.as_of};
    return explain_all(arguments, opened, &request, fault) ? STATUS_DONE : STATUS_FAILED;
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
