/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sites of an audit: each is read, judged and kept as a part of its own, by as many threads as are wanted. Sites
 * know nothing of each other, so the parts are the same whoever made them. */
#include <string.h>

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
    if (!every.present)
        return (struct competency_months){0, 0};
    return (struct competency_months){(int)every.number, (int)(first.present ? first.number : every.number)};
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

static void redact_site(const struct history *history, struct audit_part *part)
{
    AUTO(redaction) redaction = redaction_new(history);
    if (part->growing.finding_count > 0)
        redact_findings(redaction, part->growing.findings, part->growing.finding_count, part->audit->arena);
}

static void miss_site(struct audit_part *part, const struct audit_site *site, const char *why)
{
    struct arena *arena = part->audit->arena;
    part->result = (struct site_result){.site = text_keep(arena, site->site),
                                        .name = text_keep(arena, site->site),
                                        .missing = true,
                                        .why = text_keep(arena, why ? text_of(why) : site->why)};
}

static bool judge_site(struct audit_part *part, struct host *host, struct store_reader *reader, const struct crew *crew,
                       size_t number)
{
    const struct audit_request *request = crew->request;
    const struct site_settings *settings = request->sites[number].settings;
    struct store *store = store_reader_turn(reader, request->sites[number].store, &part->fault);
    AUTO(history) history = NULL;
    if (!store || !history_read(&history, store, settings, request->as_of, &part->fault))
        return false;
    presence_find(history, crew->presence, number);
    struct policies policies = {&settings->policy, &request->program->policy};
    struct period period = {request->from, request->to, request->as_of};
    audit_history(host, part->audit, &part->growing, history, &policies, period, &part->result);
    audit_warn_of_site_to_begin(part->audit, history);
    if (request->portraits) {
        part->result.portrait = portrait_new(history, request->from, request->to, part->audit->arena);
        fill_good_until(request->book, history, &policies, part->result.portrait, part->audit->arena);
    }
    if (request->redact)
        redact_site(history, part);
    return true;
}

static bool do_part(struct audit_part *part, struct host *host, struct store_reader *reader, const struct crew *crew,
                    size_t number)
{
    const struct audit_site *site = &crew->request->sites[number];
    struct fault bad = {0};
    part->audit = audit_new();
    struct text folder = TEXT("");
    if (site->settings && crew->request->program->program.data)
        folder = text_print(part->audit->arena, "sites/%.*s/", TEXT_FORMAT(site->settings->site));
    if (!site->settings)
        miss_site(part, site, NULL);
    else if (!policy_check(crew->request->book, &site->settings->policy, folder, part->audit->arena, part->audit, &bad))
        miss_site(part, site, bad.text);
    else
        return judge_site(part, host, reader, crew, number);
    return true;
}

/* ---- the crew ---- */

static void tell_progress(struct crew *crew)
{
    const struct audit_request *request = crew->request;
    pthread_mutex_lock(&crew->telling);
    crew->done++;
    if (!progress_step(&request->progress, "judging sites", crew->done, request->site_count, &crew->stopped))
        atomic_store(&crew->failed, true);
    pthread_mutex_unlock(&crew->telling);
}

/* Takes sites until none is left or one failed. */
static void work(struct crew *crew, struct store_reader *reader)
{
    AUTO(host) host = host_new(crew->request->book);
    for (;;) {
        size_t number = atomic_fetch_add(&crew->next, 1);
        if (number >= crew->request->site_count || atomic_load(&crew->failed))
            return;
        const struct text only = crew->request->only;
        if (only.data && !text_equal(crew->request->sites[number].site, only))
            continue;
        if (!do_part(&crew->parts[number], host, reader, crew, number))
            atomic_store(&crew->failed, true);
        tell_progress(crew);
    }
}

struct helper {
    struct crew *crew;
    struct store_reader *reader;
    pthread_t thread;
};

/* A thread of its own reads through a handle of its own. */
static void *work_beside(void *context)
{
    struct helper *helper = context;
    work(helper->crew, helper->reader);
    return NULL;
}

static size_t start_helpers(struct crew *crew, struct helper *helpers, size_t count)
{
    struct fault none = {0};
    size_t started = 0;
    for (; started < count; started++) {
        struct helper *helper = &helpers[started];
        *helper = (struct helper){.crew = crew};
        helper->reader = store_reader_new(crew->request->stores, STORE_READ, true);
        if (!store_reader_turn(helper->reader, 0, &none) ||
            pthread_create(&helper->thread, NULL, work_beside, helper) != 0) {
            store_reader_free(helper->reader);
            break;
        }
    }
    return started; /* with fewer the audit only takes longer */
}

void crew_work(struct crew *crew)
{
    size_t wanted = crew->request->threads > 1 ? crew->request->threads - 1 : 0;
    if (wanted >= crew->request->site_count)
        wanted = crew->request->site_count > 0 ? crew->request->site_count - 1 : 0;
    struct helper *helpers = memory_new((wanted + 1) * sizeof *helpers);
    size_t count = start_helpers(crew, helpers, wanted);
    AUTO(store_reader) reader = store_reader_new(crew->request->stores, STORE_READ, false);
    work(crew, reader);
    for (size_t i = 0; i < count; i++) {
        pthread_join(helpers[i].thread, NULL);
        store_reader_free(helpers[i].reader);
    }
    memory_free(helpers);
}
