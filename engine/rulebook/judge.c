/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Judging the events of the walk by run rules, from its facts. */
#include <lauxlib.h>
#include <string.h>

#include "rulebook/host.h"
#include "timeline/behind.h"

/* ---- subject, duty, evidence ---- */

static struct subject subject_of_event(struct host *host, const struct instance *instance, const struct event *event)
{
    struct subject subject = {{0}};
    for (int i = 0; i < SUBJECT_COUNT; i++) {
        const struct rule_subject *from = &instance->rule->subject[i];
        if (from->from == FROM_RECORD && event->run != NO_RUN) {
            struct text record = run_record_text(host->history, &host->history->runs[event->run], false, host->arena);
            subject.fields[i] = host_subject_id(host, record);
        }
        if (from->from != FROM_FACT || !event->facts[from->fact].present)
            continue;
        const struct fact *fact = &event->facts[from->fact];
        if (fact_rows[from->fact].type == FACT_NAME)
            subject.fields[i] = (uint32_t)fact->whole;
        else
            subject.fields[i] = host_subject_id(host, fact->text);
    }
    return subject;
}

void streak_set_duty(struct streak *streak, const struct rule *rule, struct text by)
{
    streak->severity = rule->text.severity;
    streak->duty = rule->text.duty;
    if (!rule->text.by || !by.data || !duty_named(by, &streak->duty))
        return;
    streak->severity = streak->duty == DUTY_LAW || streak->duty == DUTY_INSERT ? SEVERITY_BREACH : SEVERITY_PRACTICE;
}

static void add_evidence(struct streak *streak, const struct rule *rule, const struct history *history,
                         const struct event *event)
{
    streak_add_evidence(streak, event->place, (struct text){0});
    for (size_t i = 0; i < rule->argument_count; i++) {
        if (rule->arguments[i].parameter)
            continue;
        struct behind behind = behind_fact(history, event, (int)rule->arguments[i].number);
        if (behind.place.line)
            streak_add_evidence(streak, behind.place, behind.file);
    }
}

/* ---- affected tests ---- */

bool take_tests(struct host *host, struct streak *streak)
{
    lua_State *lua = host->lua;
    size_t count = lua_rawlen(lua, -1);
    bool good = true;
    for (size_t i = 0; good && i < count; i++) {
        bool is_hole = lua_rawgeti(lua, -1, (lua_Integer)i + 1) == LUA_TNIL;
        lua_Integer place = lua_isinteger(lua, -1) ? lua_tointeger(lua, -1) : -1;
        lua_pop(lua, 1);
        good = is_hole || (place >= 0 && (size_t)place < host->history->run_count);
        if (good && !is_hole && !host->history->runs[place].is_control)
            streak_add_test(streak, (uint32_t)place);
    }
    lua_pop(lua, 1);
    return good;
}

static bool ask_affects(struct host *host, struct instance *instance, const struct event *event, struct streak *streak)
{
    lua_State *lua = host->lua;
    struct fault fault = {0};
    lua_rawgeti(lua, LUA_REGISTRYINDEX, instance->affects);
    lua_createtable(lua, 0, FACT_COUNT);
    for (int i = 0; i < FACT_COUNT; i++) {
        if (!event->facts[i].present)
            continue;
        push_fact(lua, host->history, i, &event->facts[i]);
        lua_setfield(lua, -2, fact_rows[i].name);
    }
    instance->program.list_most = host->history->run_count;
    bool called = host_call(host, instance, 1, 1, SANDBOX_SITE_BUDGET, &fault);
    instance->program.list_most = 0;
    if (!called) {
        host_break(host, instance, &fault);
        return false;
    }
    bool is_list = lua_istable(lua, -1) && lua_rawlen(lua, -1) <= host->history->run_count;
    if (is_list)
        instance->program.left -=
            (int64_t)lua_rawlen(lua, -1) * COST_OF_A_TEST; /* its next call finds that it is spent */
    if (!is_list) {
        lua_pop(lua, 1);
        fault_set(&fault, FAULT_RULE, "%.*s: affects: must return a list of places, none twice",
                  TEXT_FORMAT(instance->rule->file));
        host_break(host, instance, &fault);
        return false;
    }
    if (take_tests(host, streak))
        return true;
    fault_set(&fault, FAULT_RULE, "%.*s: affects: the list holds what is no place of a run",
              TEXT_FORMAT(instance->rule->file));
    host_break(host, instance, &fault);
    return false;
}

static bool add_affected(struct host *host, struct instance *instance, const struct event *event, struct streak *streak)
{
    enum rule_affects affects = instance->rule->affects;
    if (affects == AFFECTS_FUNCTION)
        return ask_affects(host, instance, event, streak);
    if (affects == AFFECTS_FAILING && event->run != NO_RUN && !host->history->runs[event->run].is_control)
        streak_add_test(streak, event->run);
    return true;
}

/* ---- run rules ---- */

static uint64_t mixed(uint64_t hash, uint64_t value) { return (hash ^ value) * 0x9e3779b97f4a7c15u; }

static uint64_t fact_hash(enum fact_type type, const struct fact *fact)
{
    if (!fact->present)
        return 0;
    switch (type) {
    case FACT_BOOL:
        return fact->yes ? 2 : 1;
    case FACT_TEXT:
        return fact->text.size == 0 ? 1 : fact->text.size << 8 | (unsigned char)fact->text.data[fact->text.size - 1];
    default:
        return (uint64_t)fact->whole; /* of a number its bits */
    }
}

/* Where the answer to an event is kept, if it is; parameters are the same for the same method. NULL if a fact is absent
 * that must be there. */
static struct answer *place_of_answer(const struct instance *instance, const struct event *event)
{
    const struct rule *rule = instance->rule;
    uint64_t hash = event->method_index;
    for (size_t i = 0; i < rule->fact_count; i++) {
        const struct fact *fact = &event->facts[rule->facts[i].id];
        if (!fact->present && !rule->facts[i].optional)
            return NULL;
        hash = mixed(hash, fact_hash(rule->facts[i].type, fact));
    }
    return &instance->answers[(hash >> 32) % ANSWERS_KEPT];
}

static bool answers_event(const struct answer *answer, const struct rule *rule, const struct event *event)
{
    if (!answer->known || answer->method_index != event->method_index)
        return false;
    for (size_t i = 0; i < rule->fact_count; i++)
        if (!fact_equal(rule->facts[i].type, &answer->facts[i], &event->facts[rule->facts[i].id]))
            return false;
    return true;
}

static void keep_answer(struct answer *answer, const struct rule *rule, const struct event *event)
{
    for (size_t i = 0; i < rule->fact_count; i++)
        answer->facts[i] = event->facts[rule->facts[i].id];
    answer->method_index = event->method_index;
    answer->known = true;
}

static void read_answer(struct host *host, const struct instance *instance, struct answer *answer, struct fault *fault)
{
    lua_State *lua = host->lua;
    answer->verdict = VERDICT_NOT_APPLICABLE;
    if (lua_isboolean(lua, -2))
        answer->verdict = lua_toboolean(lua, -2) ? VERDICT_MET : VERDICT_FAILED;
    else if (!lua_isnil(lua, -2))
        fault_set(fault, FAULT_RULE, "%.*s: check: must return true, false or nil", TEXT_FORMAT(instance->rule->file));
    answer->attribute = -1;
    for (size_t i = 0; lua_isstring(lua, -1) && i < instance->rule->attribute_count; i++)
        if (text_equal(instance->rule->attributes[i], to_text(lua, -1)))
            answer->attribute = (int)i;
    lua_pop(lua, 2);
}

/* False if the rule broke. */
static bool ask(struct host *host, struct instance *instance, const struct event *event, struct answer *answer)
{
    lua_State *lua = host->lua;
    const struct rule *rule = instance->rule;
    struct fault fault;
    fault.code = FAULT_NONE; /* the text is long to clear, and this is where the time goes */
    lua_rawgeti(lua, LUA_REGISTRYINDEX, instance->check);
    for (size_t i = 0; i < rule->argument_count; i++) {
        const struct rule_argument *argument = &rule->arguments[i];
        if (argument->parameter) {
            struct parameter_value value = host_parameter(host, instance, argument->number, event->method_index);
            push_parameter(lua, rule->parameters[argument->number].type, &value);
            instance->program.left -= (int64_t)value.text.size * COST_OF_A_PUSHED_BYTE;
        } else {
            push_fact(lua, host->history, argument->number, &event->facts[argument->number]);
        }
    }
    answer->known = false;
    if (host_call(host, instance, (int)rule->argument_count, 2, SANDBOX_RUN_BUDGET, &fault))
        read_answer(host, instance, answer, &fault);
    if (fault.code) {
        host_break(host, instance, &fault);
        return false;
    }
    keep_answer(answer, rule, event);
    return true;
}

static struct when when_of(const struct event *event)
{
    if (event->at == MOMENT_ABSENT)
        return (struct when){.kind = WHEN_DAY, .day = event->day};
    return (struct when){.kind = WHEN_TIME, .at = event->at};
}

static void fail_event(struct host *host, struct instance *instance, const struct event *event, bool in_period)
{
    bool first;
    struct subject subject = subject_of_event(host, instance, event);
    struct streak *streak = streaks_failed(instance->streaks, &subject, when_of(event), in_period, &first);
    if (!streak)
        return;
    if (in_period && event->scope != SCOPE_PAIR) /* which runs are neighbours by the counter, later ones may change */
        streak_add_day(streak, event->day);
    const struct rule *rule = instance->rule;
    if (first && rule->from_fact >= 0 && event->facts[rule->from_fact].present)
        streak->from.at = host->history->runs[event->facts[rule->from_fact].whole].at;
    if (first) {
        streak_set_duty(streak, rule, rule->by_fact >= 0 ? event->facts[rule->by_fact].text : (struct text){0});
        add_evidence(streak, rule, host->history, event);
        streak->fills = fills_from_event(host, instance, event);
        instance->program.left -= says_cost(rule, streak->fills);
        if (event->run != NO_RUN)
            streak->first_key = run_record_text(host->history, &host->history->runs[event->run], true, host->arena);
    }
    streak->last_place = event->place;
    int attribute = instance->answer->attribute;
    if (attribute >= 0 && (streak->attribute < 0 || attribute < streak->attribute))
        streak->attribute = attribute;
    add_affected(host, instance, event, streak);
    if (instance->program.left > 0 || instance->broke)
        return;
    struct fault fault = {0}; /* no call may follow that would be refused */
    fault_set(&fault, FAULT_RULE, "%s: " SANDBOX_OUT_OF_BUDGET, instance->program.shown);
    host_break(host, instance, &fault);
}

void judge_event(struct host *host, struct instance *instance, const struct event *event, bool in_period)
{
    if (!in_period && instance->rule->shape != SHAPE_STREAK)
        return; /* nothing can come of it */
    host_take(host, instance);
    struct answer *answer = place_of_answer(instance, event);
    if (!answer || instance->lacks[host_method(host, event->method_index)])
        return;
    if (!answers_event(answer, instance->rule, event) && !ask(host, instance, event, answer))
        return;
    instance->answer = answer;
    if (answer->verdict == VERDICT_NOT_APPLICABLE)
        return;
    if (host->watcher.verdict)
        host->watcher.verdict(host->watcher.context, instance, event, answer->verdict);
    instance->judged += in_period;
    if (answer->verdict == VERDICT_FAILED) {
        fail_event(host, instance, event, in_period);
        return;
    }
    instance->met += in_period;
    if (!streaks_need_met(instance->streaks))
        return;
    struct subject subject = subject_of_event(host, instance, event);
    streaks_met(instance->streaks, &subject);
}
