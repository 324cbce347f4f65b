/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/explain.h"

#include "rulebook/judged.h"

struct explaining {
    struct explanation *explanation;
    const struct host *host;
    uint32_t run;
    size_t link_capacity, verdict_capacity;
};

static struct record_place place_behind(const struct explaining *explaining, const struct event *event, int fact)
{
    enum fact_source source = fact_rows[fact].source;
    struct place place = event->sources[source];
    struct arena *arena = explaining->explanation->arena;
    if (source == SOURCE_NONE || !place.line)
        return (struct record_place){{0}, 0};
    struct text file = source == SOURCE_SITE     ? event->setting_files[0]
                       : source == SOURCE_METHOD ? event->setting_files[1]
                                                 : history_path(explaining->host->history, place.file);
    return (struct record_place){text_keep(arena, file), place.line};
}

static void add_link(struct explaining *explaining, const struct event *event, int fact)
{
    struct explanation *explanation = explaining->explanation;
    VECTOR_GROW(explanation->links, explanation->link_count, explaining->link_capacity);
    explanation->links[explanation->link_count++] = (struct explained_fact){
        fact_rows[fact].name, fact_text(explaining->host, fact, &event->facts[fact], explanation->arena),
        place_behind(explaining, event, fact)};
}

/* The facts of the run itself, once; those of clauses, tasks and lots as the host meets them. */
static void see_event(void *context, const struct event *event)
{
    struct explaining *explaining = context;
    if (event->run != explaining->run || event->scope == SCOPE_PAIR || event->scope == SCOPE_ENTRY)
        return;
    for (int i = 0; i < FACT_COUNT; i++) {
        bool of_run = scope_has(SCOPE_TEST, fact_rows[i].scope);
        bool wanted = event->scope == SCOPE_TEST ? of_run : fact_rows[i].scope == event->scope;
        if (wanted && event->facts[i].present)
            add_link(explaining, event, i);
    }
}

static void see_verdict(void *context, const struct instance *instance, const struct event *event, enum verdict verdict)
{
    struct explaining *explaining = context;
    struct explanation *explanation = explaining->explanation;
    if (event->run != explaining->run)
        return;
    static const int about[] = {F_clause, F_task, F_used_lot};
    struct explained_verdict *seen;
    VECTOR_GROW(explanation->verdicts, explanation->verdict_count, explaining->verdict_capacity);
    seen = &explanation->verdicts[explanation->verdict_count++];
    *seen = (struct explained_verdict){.rule = &instance->rule->text, .failed = verdict == VERDICT_FAILED};
    for (size_t i = 0; i < sizeof about / sizeof *about; i++)
        if (fact_rows[about[i]].scope == event->scope)
            seen->about = fact_text(explaining->host, about[i], &event->facts[about[i]], explanation->arena);
}

static uint32_t find_test(const struct history *history, struct text test)
{
    for (uint32_t i = 0; i < history->run_count; i++)
        if (!history->runs[i].is_control && text_equal(run_test(&history->runs[i]), test))
            return i;
    return NO_RUN;
}

static void keep_findings(struct explanation *explanation, const struct growing *growing)
{
    for (size_t i = 0; i < growing->finding_count; i++)
        for (size_t t = 0; t < growing->findings[i].test_count; t++)
            if (text_equal(growing->findings[i].tests[t]->test, explanation->test)) {
                struct finding *kept = arena_take(explanation->arena, sizeof *kept);
                *kept = growing->findings[i];
                explanation->findings[explanation->finding_count++] = kept;
                break;
            }
    for (size_t i = 0; i < growing->rule_count; i++)
        if (growing->rules[i].state == RULE_NOT_JUDGED)
            explanation->silent[explanation->silent_count++] =
                (struct explained_silence){growing->rules[i].rule, growing->rules[i].why};
}

bool explain_test(struct explanation **out, const struct explain_request *request, struct fault *fault)
{
    *out = NULL;
    AUTO(history) history = NULL;
    if (!history_read(&history, request->store, request->settings, request->as_of, fault))
        return false;
    history->presence = request->presence;
    history->presence_site = request->presence_site;
    uint32_t place = find_test(history, request->test);
    if (place == NO_RUN)
        return true;

    struct explanation *explanation = memory_new(sizeof *explanation);
    explanation->arena = arena_new();
    explanation->audit = audit_new();
    explanation->test = text_keep(explanation->arena, request->test);
    explanation->site = text_keep(explanation->arena, request->settings->site);
    explanation->performed_at =
        when_text((struct when){.kind = WHEN_TIME, .at = history->runs[place].at}, explanation->arena);

    AUTO(host) host = host_new(request->book);
    struct explaining explaining = {.explanation = explanation, .host = host, .run = place};
    struct growing growing = {0};
    struct site_result result;
    struct policies policies = {&request->settings->policy, &request->program->policy};
    host->watcher = (struct watcher){see_event, see_verdict, &explaining};
    audit_history(host, explanation->audit, &growing, history, &policies,
                  (struct period){request->from, request->to, request->as_of}, &result);
    explanation->findings = arena_take(explanation->arena, (growing.finding_count + 1) * sizeof *explanation->findings);
    explanation->silent = arena_take(explanation->arena, (growing.rule_count + 1) * sizeof *explanation->silent);
    keep_findings(explanation, &growing);
    memory_free(growing.findings);
    memory_free(growing.rules);
    *out = explanation;
    return true;
}

void explanation_free(struct explanation *explanation)
{
    if (!explanation)
        return;
    memory_free(explanation->links);
    memory_free(explanation->verdicts);
    audit_free(explanation->audit);
    arena_free(explanation->arena);
    memory_free(explanation);
}
