/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/explain.h"

#include "findings/redact.h"
#include "rulebook/judged.h"
#include "timeline/behind.h"

struct explaining { /* one of the tests, while the walk goes by */
    struct explanation *explanation;
    uint32_t run; /* NO_RUN: the site has no such test */
    size_t link_capacity, verdict_capacity;
};

struct watching {
    struct explanations *explanations;
    const struct host *host;
    const struct history *history;
    struct explaining *tests;          /* as explanations->all */
    const struct redaction *redaction; /* NULL: show specimens */
    bool *asked; /* of each run: is it one of theirs? So that most events are passed over at once */
};

static struct record_place place_behind(const struct watching *watching, const struct event *event, int fact)
{
    struct behind behind = behind_fact(watching->history, event, fact);
    if (!behind.place.line)
        return (struct record_place){{0}, 0};
    struct text file = behind.file.data ? behind.file : history_path(watching->history, behind.place.file);
    return (struct record_place){text_keep(watching->explanations->arena, file), behind.place.line};
}

static void add_link(const struct watching *watching, struct explaining *test, const struct event *event, int fact)
{
    struct explanation *explanation = test->explanation;
    VECTOR_GROW(explanation->links, explanation->link_count, test->link_capacity);
    struct text value = fact_text(watching->host, fact, &event->facts[fact], watching->explanations->arena);
    if (fact == F_specimen && watching->redaction)
        value = redacted(watching->redaction, value, watching->explanations->arena);
    explanation->links[explanation->link_count++] =
        (struct explained_fact){fact, fact_rows[fact].name, value, place_behind(watching, event, fact)};
}

/* Of the test's run, or of the testing day of its analyzer. */
static bool is_of(const struct watching *watching, const struct explaining *test, const struct event *event)
{
    if (test->run == NO_RUN)
        return false;
    if (event->scope != SCOPE_DAY)
        return event->run == test->run;
    const struct run *run = &watching->history->runs[test->run];
    return event->facts[F_analyzer].whole == run->analyzer && event->day == history_day(watching->history, run->at);
}

static bool is_passed_over(const struct watching *watching, const struct event *event)
{
    if (event->scope == SCOPE_PAIR || event->scope == SCOPE_ENTRY)
        return true;
    return event->scope != SCOPE_DAY && (event->run == NO_RUN || !watching->asked[event->run]);
}

/* The facts of the run itself, once; those of clauses, tasks, lots and the testing day as the host meets them. */
static void add_links(const struct watching *watching, struct explaining *test, const struct event *event)
{
    for (int i = 0; i < FACT_COUNT; i++) {
        bool of_run = scope_has(SCOPE_TEST, fact_rows[i].scope);
        bool wanted = event->scope == SCOPE_TEST ? of_run : fact_rows[i].scope == event->scope;
        if (wanted && event->facts[i].present)
            add_link(watching, test, event, i);
    }
}

static void see_event(void *context, const struct event *event)
{
    const struct watching *watching = context;
    if (is_passed_over(watching, event))
        return;
    for (size_t i = 0; i < watching->explanations->count; i++)
        if (is_of(watching, &watching->tests[i], event))
            add_links(watching, &watching->tests[i], event);
}

static void add_verdict(const struct watching *watching, struct explaining *test, const struct rule_text *rule,
                        const struct event *event, enum verdict verdict)
{
    static const int about[] = {F_clause, F_task, F_used_lot};
    struct explanation *explanation = test->explanation;
    VECTOR_GROW(explanation->verdicts, explanation->verdict_count, test->verdict_capacity);
    struct explained_verdict *seen = &explanation->verdicts[explanation->verdict_count++];
    *seen = (struct explained_verdict){.rule = rule, .failed = verdict == VERDICT_FAILED};
    for (size_t i = 0; i < sizeof about / sizeof *about; i++)
        if (fact_rows[about[i]].scope == event->scope)
            seen->about = fact_text(watching->host, about[i], &event->facts[about[i]], watching->explanations->arena);
}

static void see_verdict(void *context, const struct instance *instance, const struct event *event, enum verdict verdict)
{
    const struct watching *watching = context;
    if (is_passed_over(watching, event))
        return;
    for (size_t i = 0; i < watching->explanations->count; i++)
        if (is_of(watching, &watching->tests[i], event))
            add_verdict(watching, &watching->tests[i], &instance->rule->text, event, verdict);
}

static uint32_t find_test(const struct history *history, struct text test)
{
    for (uint32_t i = 0; i < history->run_count; i++)
        if (!history->runs[i].is_control && text_equal(run_test(&history->runs[i]), test))
            return i;
    return NO_RUN;
}

static void keep_findings(struct explanations *explanations, struct explanation *explanation,
                          const struct finding *findings, size_t count)
{
    explanation->findings = arena_take(explanations->arena, (count + 1) * sizeof *explanation->findings);
    for (size_t i = 0; i < count; i++)
        for (size_t t = 0; t < findings[i].test_count; t++)
            if (text_equal(findings[i].tests[t]->test, explanation->test)) {
                explanation->findings[explanation->finding_count++] = &findings[i];
                break;
            }
}

/* What the host judged, kept in the explanations' own memory. */
static void keep_judgement(struct explanations *explanations, const struct growing *growing)
{
    struct finding *findings = arena_take(explanations->arena, (growing->finding_count + 1) * sizeof *findings);
    for (size_t i = 0; i < growing->finding_count; i++)
        findings[i] = growing->findings[i];
    for (size_t i = 0; i < explanations->count; i++)
        if (explanations->all[i].known)
            keep_findings(explanations, &explanations->all[i], findings, growing->finding_count);
    explanations->silent = arena_take(explanations->arena, (growing->rule_count + 1) * sizeof *explanations->silent);
    for (size_t i = 0; i < growing->rule_count; i++)
        if (growing->rules[i].state != RULE_JUDGED)
            explanations->silent[explanations->silent_count++] =
                (struct explained_silence){growing->rules[i].rule, growing->rules[i].state, growing->rules[i].why};
}

/* The nearest good control of the level in the direction of `step`; counts the failed ones that are passed. */
static uint32_t nearest_good(const struct history *history, uint32_t test, uint32_t level, int step, size_t *failed)
{
    const struct run *run = &history->runs[test];
    for (int64_t i = (int64_t)test + step; i >= 0 && i < (int64_t)history->run_count; i += step) {
        const struct run *other = &history->runs[i];
        if (!other->is_control || other->analyzer != run->analyzer || other->method_index != run->method_index ||
            other->level != level)
            continue;
        if (other->control == CONTROL_GOOD)
            return (uint32_t)i;
        *failed += other->control == CONTROL_FAILED;
    }
    return NO_RUN;
}

static void tell_control(const struct watching *watching, uint32_t place, struct text *when, struct record_place *where)
{
    struct arena *arena = watching->explanations->arena;
    if (place == NO_RUN)
        return;
    const struct run *run = &watching->history->runs[place];
    *when = when_text((struct when){.kind = WHEN_TIME, .at = run->at}, arena);
    *where = (struct record_place){text_keep(arena, history_path(watching->history, run->file)), run->line};
}

static void add_controls(const struct watching *watching, struct explanation *explanation, uint32_t test)
{
    const struct history *history = watching->history;
    const struct method_settings *method = run_method(history, &history->runs[test]);
    if (!method || !method->has_controls)
        return;
    const uint32_t *levels = history->method_names[history->runs[test].method_index].levels;
    explanation->controls =
        arena_take(watching->explanations->arena, (method->level_count + 1) * sizeof *explanation->controls);
    for (size_t i = 0; i < method->level_count; i++) {
        struct explained_control *control = &explanation->controls[explanation->control_count++];
        *control = (struct explained_control){.level = text_keep(watching->explanations->arena, method->levels[i])};
        size_t *failed = &control->failed_between;
        tell_control(watching, nearest_good(history, test, levels[i], -1, failed), &control->before,
                     &control->before_place);
        tell_control(watching, nearest_good(history, test, levels[i], 1, failed), &control->after,
                     &control->after_place);
    }
}

static void begin_test(const struct watching *watching, struct explaining *test, struct explanation *explanation,
                       struct text id)
{
    struct arena *arena = watching->explanations->arena;
    test->explanation = explanation;
    test->run = find_test(watching->history, id);
    explanation->test = text_keep(arena, id);
    explanation->site = text_keep(arena, watching->history->settings->site);
    explanation->known = test->run != NO_RUN;
    if (!explanation->known)
        return;
    watching->asked[test->run] = true;
    moment at = watching->history->runs[test->run].at;
    explanation->performed_at = when_text((struct when){.kind = WHEN_TIME, .at = at}, arena);
    add_controls(watching, explanation, test->run);
}

static void judge_watched(struct watching *watching, struct host *host, const struct explain_request *request)
{
    struct growing growing = {0};
    struct site_result result;
    struct policies policies = {&request->settings->policy, &request->program->policy};
    watching->host = host;
    host->watcher = (struct watcher){see_event, see_verdict, watching};
    audit_history(host, watching->explanations->audit, &growing, watching->history, &policies,
                  (struct period){request->from, request->to, request->as_of}, &result);
    struct arena *arena = watching->explanations->arena;
    if (watching->redaction && growing.finding_count > 0)
        redact_findings(watching->redaction, growing.findings, growing.finding_count, arena);
    if (watching->redaction) {
        redact_answers(watching->redaction, result.answers, result.answer_count, arena);
        redact_reasons(watching->redaction, growing.rules, growing.rule_count, arena);
    }
    keep_judgement(watching->explanations, &growing);
    memory_free(growing.findings);
    memory_free(growing.rules);
}

bool explain_tests(struct explanations **out, const struct explain_request *request, const struct text *tests,
                   size_t count, struct fault *fault)
{
    *out = NULL;
    AUTO(history) history = NULL;
    if (!history_read(&history, request->store, request->settings, request->as_of, fault))
        return false;
    presence_find(history, request->presence, request->presence_site);
    AUTO(redaction) redaction = request->redact ? redaction_new(history) : NULL;
    if (redaction && !redaction_add_stored(redaction, request->store, fault))
        return false;

    struct explanations *explanations = memory_new(sizeof *explanations);
    *explanations = (struct explanations){.all = memory_new((count + 1) * sizeof *explanations->all),
                                          .count = count,
                                          .audit = audit_new(),
                                          .arena = arena_new()};
    struct watching watching = {.explanations = explanations,
                                .history = history,
                                .tests = memory_new((count + 1) * sizeof *watching.tests),
                                .asked = memory_new(history->run_count + 1)};
    watching.redaction = redaction;
    bool any = false;
    for (size_t i = 0; i < count; i++) {
        begin_test(&watching, &watching.tests[i], &explanations->all[i], tests[i]);
        any = any || explanations->all[i].known;
    }
    if (any) {
        AUTO(host) host = host_new(request->book);
        judge_watched(&watching, host, request);
    }
    memory_free(watching.tests);
    memory_free(watching.asked);
    *out = explanations;
    return true;
}

void explanations_free(struct explanations *explanations)
{
    if (!explanations)
        return;
    for (size_t i = 0; i < explanations->count; i++) {
        memory_free(explanations->all[i].links);
        memory_free(explanations->all[i].verdicts);
    }
    memory_free(explanations->all);
    audit_free(explanations->audit);
    arena_free(explanations->arena);
    memory_free(explanations);
}
