/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sites of an audit: each is read, judged and kept as a part of its own, by as many threads as are wanted. Sites
 * know nothing of each other, so the parts are the same whoever made them. */
#include <string.h>

#include "base/crew.h"
#include "findings/portrait.h"
#include "findings/redact.h"
#include "rulebook/parts.h"

/* ---- one site ---- */

/* The months of people.competency in force for a method; 0: the rule is off, not there, or says none. */
struct competency_months {
    int every, first_year;
};

static struct competency_months months_in_force(const struct rule *rule, const struct method_settings *method,
                                                const struct policies *policies)
{
    struct parameter_value every = {0}, first = {0};
    for (size_t i = 0; rule && i < rule->parameter_count; i++) {
        struct parameter_value value = parameter_in_force(rule, &rule->parameters[i], method, policies, NULL);
        if (text_is(rule->parameters[i].name, "every_months"))
            every = value;
        else if (text_is(rule->parameters[i].name, "first_year_months"))
            first = value;
    }
    if (!first.present)
        first = every;
    if (!every.present || !(every.number >= 0 && every.number <= MONTHS_MOST) ||
        !(first.number >= 0 && first.number <= MONTHS_MOST)) /* a policy may say anything */
        return (struct competency_months){0, 0};
    return (struct competency_months){(int)every.number, (int)first.number};
}

static void fill_good_until(const struct rulebook *book, const struct history *history, const struct policies *policies,
                            struct portrait *portrait, struct arena *arena)
{
    struct text why;
    const struct rule *rule = rulebook_find(book, TEXT("people.competency"));
    if (rule && rule_is_off(rule, policies, arena, &why))
        return;
    for (size_t i = 0; i < portrait->operator_count; i++) {
        const struct portrait_operator *operator_ = &portrait->operators[i];
        for (size_t t = 0; t < operator_->training_count; t++) {
            struct portrait_training *training = &operator_->trainings[t];
            struct competency_months months =
                months_in_force(rule, settings_method(history->settings, training->method), policies);
            if (months.every)
                training->good_until =
                    portrait_good_until(history, operator_->operator_, training, months.every, months.first_year);
        }
    }
}

static bool redact_site(const struct history *history, struct store *store, struct audit_part *part,
                        struct fault *fault)
{
    AUTO(redaction) redaction = redaction_new(history);
    if (!redaction_add_stored(redaction, store, fault))
        return false;
    struct growing *growing = &part->growing;
    struct portrait *portrait = part->result.portrait;
    struct arena *arena = part->audit->arena;
    if (growing->finding_count > 0)
        redact_findings(redaction, growing->findings, growing->finding_count, arena);
    redact_answers(redaction, part->result.answers, part->result.answer_count, arena);
    for (size_t i = 0; i < part->audit->warning_count; i++)
        part->audit->warnings[i] = redacted_words(redaction, part->audit->warnings[i], arena);
    redact_reasons(redaction, growing->rules, growing->rule_count, arena);
    if (portrait)
        redact_answers(redaction, portrait->actions, portrait->action_count, arena);
    return true;
}

static void miss_site(struct audit_part *part, const struct audit_site *site, const char *why)
{
    struct arena *arena = part->audit->arena;
    part->result = (struct site_result){.site = text_keep(arena, site->site),
                                        .name = text_keep(arena, site->site),
                                        .missing = true,
                                        .why = text_keep(arena, why ? text_of(why) : site->why)};
}

struct judge { /* what one thread judges with */
    struct host *host;
    struct host *reaching; /* of the reaching rules alone */
    struct store_reader *reader;
};

static bool judge_site(struct audit_part *part, const struct judge *judge, const struct parts *parts, size_t number,
                       struct fault *fault)
{
    const struct audit_request *request = parts->request;
    const struct site_settings *settings = request->sites[number].settings;
    struct store *store = store_reader_turn(judge->reader, request->sites[number].store, fault);
    AUTO(history) history = NULL;
    if (!store || !history_read(&history, store, settings, request->as_of, fault))
        return false;
    presence_find(history, parts->presence, number);
    struct policies policies = {&settings->policy, &request->program->policy};
    struct period period = {request->from, request->to, request->as_of};
    audit_history(judge->host, part->audit, &part->growing, history, &policies, period, &part->result);
    audit_warn_of_site_to_begin(part->audit, history);
    audit_warn_of_places(part->audit, history, period);
    audit_warn_of_closed_days(part->audit, history, period);
    audit_warn_of_names(part->audit, history, period);
    audit_warn_of_controls(part->audit, &part->growing, history, period);
    audit_warn_of_days_before(judge->reaching, part->audit, &part->growing, history, &policies, period);
    audit_warn_of_columns(part->audit, &part->growing, history, period);
    audit_warn_of_counters(part->audit, &part->growing, history, period);
    audit_warn_of_entries(part->audit, history, period);
    if (request->portraits) {
        part->result.portrait = portrait_new(history, request->from, request->to, part->audit->arena);
        fill_good_until(request->book, history, &policies, part->result.portrait, part->audit->arena);
    }
    return !request->redact || redact_site(history, store, part, fault);
}

static bool make_part(void *context, void *tool, size_t number, struct fault *fault)
{
    const struct parts *parts = context;
    const struct audit_request *request = parts->request;
    const struct audit_site *site = &request->sites[number];
    struct audit_part *part = &parts->parts[number];
    struct fault bad = {0};
    if (request->only.data && !text_equal(site->site, request->only))
        return true;
    part->audit = audit_new();
    struct text folder = TEXT("");
    if (site->settings && request->program->program.data)
        folder = text_print(part->audit->arena, "sites/%.*s/", TEXT_FORMAT(site->settings->site));
    if (!site->settings)
        miss_site(part, site, NULL);
    else if (!policy_check(request->book, &site->settings->policy, folder, part->audit->arena, part->audit, &bad))
        miss_site(part, site, bad.text);
    else
        return judge_site(part, tool, parts, number, fault);
    return true;
}

/* ---- all sites ---- */

static void judge_free(struct judge *judge)
{
    host_free(judge->host);
    host_free(judge->reaching);
    store_reader_free(judge->reader);
}

/* All are made before the first thread starts; of those beside the first, as many as get a way into the stores. */
static size_t make_judges(const struct audit_request *request, const struct rulebook *reaching, struct judge *judges,
                          size_t wanted)
{
    struct fault none = {0};
    size_t count = 0;
    for (; count < wanted; count++) {
        struct judge *judge = &judges[count];
        judge->reader = store_reader_new(request->stores, STORE_READ, count > 0);
        if (count > 0 && !store_reader_turn(judge->reader, 0, &none)) {
            store_reader_free(judge->reader);
            break; /* with fewer the audit only takes longer */
        }
        judge->host = host_new(request->book);
        judge->reaching = host_new(reaching);
        judge->reaching->known[0] = request->book;
        judge->reaching->after = judge->host;
    }
    return count;
}

bool parts_make(struct parts *parts, struct fault *fault)
{
    const struct audit_request *request = parts->request;
    size_t wanted = request->threads < request->site_count ? request->threads : request->site_count;
    struct judge *judges = memory_new((wanted + 1) * sizeof *judges);
    AUTO(rulebook) reaching = reaching_rules(request->book);
    size_t count = make_judges(request, reaching, judges, wanted ? wanted : 1);
    void **tools = memory_new(count * sizeof *tools);
    for (size_t i = 0; i < count; i++)
        tools[i] = &judges[i];
    struct crew crew = {.work = "judging sites",
                        .count = request->site_count,
                        .hands = count,
                        .tools = tools,
                        .one = make_part,
                        .context = parts,
                        .progress = &request->progress};
    bool made = crew_run(&crew, fault);
    for (size_t i = 0; i < count; i++)
        judge_free(&judges[i]);
    memory_free(tools);
    memory_free(judges);
    return made;
}
