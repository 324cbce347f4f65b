/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a site's history to its findings: it is walked and judged, streaks become findings, all is put in order and
 * numbered. */
#include <stdlib.h>
#include <string.h>

#include "findings/answers.h"
#include "rulebook/judged.h"

struct site_work { /* one site on its way into the audit */
    struct host *host;
    struct audit *audit;
    struct growing *growing;
    const struct history *history;
    struct instance *instance;
    struct site_result *result;
    const struct affected_test **tests; /* by place: made once, shared by all findings that name it */
    bool *doubted;                      /* by place: an at-risk or breach finding names it */
    struct evidence_days *days;         /* made when they are asked for first */
};

void audit_add_warning(struct audit *audit, struct text warning)
{
    if (audit->warning_count == audit->warning_capacity) {
        size_t capacity = audit->warning_capacity ? 2 * audit->warning_capacity : 16;
        struct text *warnings = arena_take(audit->arena, capacity * sizeof *warnings);
        if (audit->warning_count)
            memcpy(warnings, audit->warnings, audit->warning_count * sizeof *warnings);
        audit->warnings = warnings;
        audit->warning_capacity = capacity;
    }
    audit->warnings[audit->warning_count++] = text_keep(audit->arena, warning);
}

/* ---- one finding ---- */

/* A text that many tests have alike, kept once. */
static struct text shared(struct site_work *work, struct text text)
{
    return text.size ? names_text(work->audit->shared, names_add(work->audit->shared, text)) : text;
}

static const struct affected_test *affected(struct site_work *work, uint32_t place)
{
    if (work->tests[place])
        return work->tests[place];
    const struct run *run = &work->history->runs[place];
    const struct names *names = work->history->names;
    struct arena *arena = work->audit->arena;
    struct affected_test *test = arena_take(arena, sizeof *test);
    *test = (struct affected_test){
        .test = text_keep(arena, run_test(run)),
        .operator_ = shared(work, names_text(names, run->operator_)),
        .analyzer = shared(work, names_text(names, run->analyzer)),
        .method = shared(work, names_text(names, run->method)),
        .specimen = text_keep(arena, run_specimen(run)),
        .result = shared(work, run_result(run)),
        .performed_at = when_text((struct when){.kind = WHEN_TIME, .at = run->at}, arena),
        .place = {shared(work, history_path(work->history, run->file)), run->line},
    };
    work->tests[place] = test;
    return test;
}

static int by_place(const void *a, const void *b)
{
    uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return x < y ? -1 : x > y;
}

static void fill_tests(struct site_work *work, struct streak *streak, struct finding *finding)
{
    bool doubt = finding->severity == SEVERITY_AT_RISK || finding->severity == SEVERITY_BREACH;
    if (streak->test_count)
        qsort(streak->tests, streak->test_count, sizeof *streak->tests, by_place);
    finding->tests =
        arena_take(work->audit->arena, (streak->test_count + streak->gone_count + 1) * sizeof *finding->tests);
    for (size_t i = 0; i < streak->test_count; i++) {
        uint32_t place = streak->tests[i];
        if (i && place == streak->tests[i - 1])
            continue;
        finding->tests[finding->test_count++] = affected(work, place);
        if (doubt)
            work->doubted[place] = true;
    }
    for (size_t i = 0; i < streak->gone_count; i++) {
        struct affected_test *test = arena_take(work->audit->arena, sizeof *test);
        *test = (struct affected_test){.test = text_keep(work->audit->arena, streak->gone[i])};
        finding->tests[finding->test_count++] = test;
    }
}

static void fill_evidence(struct site_work *work, struct streak *streak, struct finding *finding)
{
    struct arena *arena = work->audit->arena;
    if (streak->last_place.line)
        streak_add_evidence(streak, streak->last_place, (struct text){0});
    streak_drop_repeated(streak);
    finding->evidence = arena_take(arena, (streak->evidence_count + 1) * sizeof *finding->evidence);
    for (size_t i = 0; i < streak->evidence_count; i++) {
        const struct evidence *evidence = &streak->evidence[i];
        struct text file = evidence->setting_file;
        if (!file.data)
            file = history_path(work->history, evidence->place.file);
        finding->evidence[finding->evidence_count++] =
            (struct record_place){text_keep(arena, file), evidence->place.line};
    }
}

static void fill_subject(struct site_work *work, const struct streak *streak, struct finding *finding)
{
    for (int i = 0; i < SUBJECT_COUNT; i++) {
        uint32_t id = streak->subject.fields[i];
        if (id)
            finding->subject[i] = text_keep(work->audit->arena, host_subject_text(work->host, id));
    }
    if (streak->attribute < 0)
        return;
    finding->subject[SUBJECT_DETAIL] = work->instance->rule->attributes[streak->attribute];
    finding->detail_is_attribute = true;
}

/* What an action must have been closed after to answer the finding: its last event and the last result that it affects;
 * of a finding without a day of its own, the first record behind it. Most findings have no action to ask about. */
static day_number day_to_cover(struct site_work *work, const struct finding *finding)
{
    const struct finding_answer *answer = answer_of(work->result, text_of(finding->number), DAY_ABSENT);
    if (!answer || !answer_settles(answer))
        return DAY_ABSENT;
    day_number last = finding_last_day(finding);
    if (last != DAY_ABSENT)
        return last;
    if (!work->days)
        work->days = evidence_days_new(work->history);
    return evidence_days_first(work->days, finding);
}

/* Excused by site.yaml, or answered: an action naming it is closed and verified by someone other than its owner. */
static void fill_state(struct site_work *work, struct finding *finding)
{
    const struct site_settings *settings = work->history->settings;
    day_number last = day_to_cover(work, finding);
    finding->answer = answer_of(work->result, text_of(finding->number), last);
    if (finding->answer && answer_covers(finding->answer, last))
        finding->state = FINDING_ANSWERED;
    for (size_t i = 0; i < settings->excused_count; i++) {
        if (!text_is(settings->excused[i].finding, finding->number))
            continue;
        finding->state = FINDING_EXCUSED;
        finding->excuse = text_keep(work->audit->arena, settings->excused[i].reason);
    }
}

/* What a rule took from the fact `specimen`, or told by that name. */
static struct text specimen_told(const struct rule *rule, const struct streak *streak, const struct finding *finding)
{
    for (int i = 0; i < SUBJECT_COUNT; i++)
        if (rule->subject[i].from == FROM_FACT && rule->subject[i].fact == F_specimen)
            return finding->subject[i];
    for (size_t i = 0; streak->fills && i < rule->says_count; i++)
        if (rule->says[i].name.data && text_is(rule->says[i].name, "specimen"))
            return streak->fills[i];
    return (struct text){0};
}

static void take_streak(void *context, struct streak *streak)
{
    struct site_work *work = context;
    struct growing *growing = work->growing;
    struct arena *arena = work->audit->arena;
    VECTOR_GROW(growing->findings, growing->finding_count, growing->finding_capacity);
    struct finding *finding = &growing->findings[growing->finding_count++];
    *finding = (struct finding){
        .rule = &work->instance->rule->text,
        .severity = streak->severity,
        .duty = streak->duty,
        .state = FINDING_NEW,
        .due_on = DAY_ABSENT,
        .site = work->result->site,
        .from = when_text(streak->from, arena),
        .to = when_text(streak->to, arena),
        .first_day = streak->first_day,
        .last_day = streak->last_day,
        .events = streak->events,
        .first_key = streak->first_key.data ? text_keep(arena, streak->first_key) : (struct text){0},
    };
    fill_subject(work, streak, finding);
    fill_tests(work, streak, finding);
    fill_evidence(work, streak, finding);
    finding->says = says_finding(work->instance->rule, streak, finding, arena);
    finding->specimen = text_keep(arena, specimen_told(work->instance->rule, streak, finding));
}

/* ---- order and numbers ---- */

static int compare_findings(const void *a, const void *b)
{
    const struct finding *x = a, *y = b;
    int order = text_compare(x->site, y->site);
    if (!order)
        order = text_compare(x->rule->id, y->rule->id);
    for (int i = 0; !order && i < SUBJECT_COUNT; i++) {
        if (i == SUBJECT_DETAIL && (x->detail_is_attribute || y->detail_is_attribute))
            continue;
        order = text_compare(x->subject[i], y->subject[i]);
    }
    if (!order)
        order = text_compare(x->from, y->from);
    return order ? order : text_compare(x->first_key, y->first_key);
}

/* Findings that would share a number get the first event's key added, from the second on. */
static void number_findings(struct finding *findings, size_t count)
{
    char plain[FINDING_NUMBER_SIZE], before[FINDING_NUMBER_SIZE] = "";
    for (size_t i = 0; i < count; i++) {
        struct finding *finding = &findings[i];
        finding_number(finding, (struct text){0}, plain);
        bool shared_number = strcmp(plain, before) == 0; /* those that share one stand together */
        finding_number(finding, shared_number ? finding->first_key : (struct text){0}, finding->number);
        memcpy(before, plain, sizeof before);
    }
}

/* ---- a site ---- */

static void count_runs(struct site_work *work)
{
    for (size_t i = 0; i < work->history->run_count; i++) {
        const struct run *run = &work->history->runs[i];
        if (!host_in_period(work->host, history_day(work->history, run->at)))
            continue;
        work->result->controls += run->is_control;
        work->result->tests += !run->is_control;
        work->result->tests_vouched += !run->is_control && !work->doubted[i] && run->method; /* else hardly judged */
    }
}

static void take_rules(struct site_work *work)
{
    struct growing *growing = work->growing;
    for (size_t i = 0; i < work->host->book->count; i++) {
        struct instance *instance = &work->host->instances[i];
        size_t before = growing->finding_count;
        work->instance = instance;
        if (instance->state == RULE_JUDGED)
            streaks_end(instance->streaks, take_streak, work);
        VECTOR_GROW(growing->rules, growing->rule_count, growing->rule_capacity);
        growing->rules[growing->rule_count++] = (struct rule_at_site){
            .rule = &instance->rule->text,
            .site = work->result->site,
            .state = instance->state,
            .why = instance->why.data ? text_keep(work->audit->arena, instance->why) : (struct text){0},
            .broke = instance->broke,
            .set = instance->state == RULE_JUDGED
                       ? policy_sets(instance->rule, work->host->policies, work->audit->arena)
                       : (struct text){0},
            .judged = instance->judged,
            .met = instance->met,
            .findings = growing->finding_count - before,
        };
    }
}

static void put_in_order(struct site_work *work, struct finding *findings, size_t count)
{
    qsort(findings, count, sizeof *findings, compare_findings);
    number_findings(findings, count);
    for (size_t i = 0; i < count; i++)
        fill_state(work, &findings[i]);
}

bool growing_judged(const struct growing *growing, const char *rule)
{
    for (size_t i = 0; i < growing->rule_count; i++)
        if (text_is(growing->rules[i].rule->id, rule))
            return growing->rules[i].state == RULE_JUDGED;
    return false;
}

void audit_history(struct host *host, struct audit *audit, struct growing *growing, const struct history *history,
                   const struct policies *policies, struct period period, struct site_result *result)
{
    struct site_work work = {.host = host, .audit = audit, .growing = growing, .history = history, .result = result};
    *result = (struct site_result){.site = text_keep(audit->arena, history->settings->site),
                                   .name = text_keep(audit->arena, history->settings->name),
                                   .first_finding = growing->finding_count};
    answers_read(result, history, audit->arena);
    host_judge_site(host, history, policies, period);
    work.tests = memory_new((history->run_count + 1) * sizeof *work.tests);
    work.doubted = memory_new(history->run_count + 1);
    take_rules(&work);
    count_runs(&work);
    result->finding_count = growing->finding_count - result->first_finding;
    if (growing->findings)
        put_in_order(&work, growing->findings + result->first_finding, result->finding_count);
    host_leave_site(host);
    evidence_days_free(work.days);
    memory_free(work.doubted);
    memory_free(work.tests);
}
