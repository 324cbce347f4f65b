/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/host.h"

#include <lauxlib.h>
#include <string.h>

static int take_rule(lua_State *lua)
{
    luaL_checktype(lua, 1, LUA_TTABLE);
    lua_settop(lua, 1);
    return 1;
}

static struct sandbox *new_judging_box(struct host *host)
{
    struct sandbox *sandbox = sandbox_new();
    sandbox_offer(sandbox, "rule", take_rule, host);
    rulebook_share(sandbox, &host->sharing);
    windows_offer(host, sandbox);
    stats_offer(sandbox);
    judge_offer(host, sandbox);
    site_offer(sandbox);
    return sandbox;
}

struct host *host_new(const struct rulebook *book)
{
    struct host *host = memory_new(sizeof *host);
    host->book = host->known[0] = book;
    host->instances = memory_new((book->count + 1) * sizeof *host->instances);
    host->sharing = (struct sharing){book, {0}};
    for (size_t i = 0; i < book->count; i++) {
        struct instance *instance = &host->instances[i];
        *instance =
            (struct instance){.rule = &book->rules[i], .table = LUA_NOREF, .check = LUA_NOREF, .affects = LUA_NOREF};
        instance->sandbox = new_judging_box(host);
        struct fault fault = {0}; /* the book has compiled it before */
        sandbox_compile(instance->sandbox, instance->rule->file.data, instance->rule->source, &instance->compiled,
                        &fault);
    }
    return host;
}

void host_free(struct host *host)
{
    if (!host)
        return;
    host_leave_site(host);
    for (size_t i = 0; i < host->book->count; i++)
        sandbox_free(host->instances[i].sandbox);
    memory_free(host->instances);
    memory_free(host);
}

void host_break(struct host *host, struct instance *instance, const struct fault *fault)
{
    instance->broke = true;
    instance->state = RULE_NOT_JUDGED;
    instance->why = text_print(host->arena, "the rule broke: %s", fault->text);
    instance->judged = instance->met = 0;
    luaL_unref(host->lua, LUA_REGISTRYINDEX, instance->check); /* what it held is let go of */
    luaL_unref(host->lua, LUA_REGISTRYINDEX, instance->affects);
    instance->check = instance->affects = LUA_NOREF;
    lua_rawgeti(host->lua, LUA_REGISTRYINDEX, instance->compiled.chunk);
    lua_pushnil(host->lua);
    lua_setupvalue(host->lua, -2, 1);
    lua_pop(host->lua, 1);
}

bool host_in_period(const struct host *host, day_number day)
{
    return day >= host->period.from && day <= host->period.to;
}

uint32_t host_subject_id(struct host *host, struct text text)
{
    uint32_t name = names_find(host->history->names, text);
    return name || !text.size ? name : names_add(host->subjects, text) | SUBJECT_OWN;
}

struct text host_subject_text(const struct host *host, uint32_t id)
{
    return id & SUBJECT_OWN ? names_text(host->subjects, id & ~SUBJECT_OWN) : names_text(host->history->names, id);
}

/* ---- a rule at a site ---- */

/* Is one absent that must be there? `values` are those of a method. */
static bool lacks_parameter(const struct rule *rule, const struct parameter_value *values)
{
    for (size_t i = 0; i < rule->argument_count; i++) {
        const struct rule_argument *argument = &rule->arguments[i];
        if (argument->parameter && !argument->optional && !values[argument->number].present)
            return true;
    }
    return false;
}

static void resolve_parameters(struct host *host, struct instance *instance)
{
    const struct site_settings *settings = host->history->settings;
    const struct rule *rule = instance->rule;
    size_t count = rule->parameter_count, methods = settings->method_count;
    instance->values = arena_take(host->arena, (methods + 1) * (count + 1) * sizeof *instance->values);
    instance->lacks = arena_take(host->arena, (methods + 1) * sizeof *instance->lacks);
    for (size_t m = 0; m <= methods; m++) {
        struct parameter_value *values = instance->values + m * count;
        for (size_t p = 0; p < count; p++)
            values[p] = parameter_in_force(rule, &rule->parameters[p], m < methods ? &settings->methods[m] : NULL,
                                           host->policies, NULL);
        instance->lacks[m] = lacks_parameter(rule, values);
    }
}

static void make_room_for_answers(struct host *host, struct instance *instance)
{
    size_t count = instance->rule->fact_count;
    struct fact *facts = arena_take(host->arena, ANSWERS_KEPT * (count + 1) * sizeof *facts);
    instance->answers = arena_take(host->arena, ANSWERS_KEPT * sizeof *instance->answers);
    for (size_t i = 0; i < ANSWERS_KEPT; i++)
        instance->answers[i] = (struct answer){.facts = facts + i * count};
}

size_t host_method(const struct host *host, uint32_t method_index)
{
    return method_index == NO_METHOD ? host->history->settings->method_count : method_index;
}

struct parameter_value host_parameter(const struct host *host, const struct instance *instance, int number,
                                      uint32_t method_index)
{
    return instance->values[host_method(host, method_index) * instance->rule->parameter_count + (size_t)number];
}

/* The same rule in the host that has judged before; NULL if there is none. */
static const struct instance *judged_before(const struct host *host, const struct rule *rule)
{
    for (size_t i = 0; host->after && i < host->after->book->count; i++)
        if (text_equal(host->after->instances[i].rule->text.id, rule->text.id))
            return &host->after->instances[i];
    return NULL;
}

/* Is it judged here at all? */
static void set_state(struct host *host, struct instance *instance)
{
    const struct rule *rule = instance->rule;
    const struct instance *before = judged_before(host, rule);
    instance->state = RULE_JUDGED;
    if (before && before->state != RULE_JUDGED) {
        instance->state = before->state;
    } else if (rule_is_off(rule, host->policies, host->arena, &instance->why)) {
        instance->state = RULE_OFF;
    } else if (rule->needs && !host->history->kept[rule->needs->id]) {
        instance->state = RULE_NOT_JUDGED;
        instance->why = text_print(host->arena, "no %s log", rule->needs->name);
    }
}

static int keep_function(lua_State *lua, const char *field)
{
    lua_getfield(lua, -1, field);
    if (lua_iscfunction(lua, -1)) { /* no instruction is counted in it */
        lua_pop(lua, 1);
        lua_pushnil(lua);
    }
    return luaL_ref(lua, LUA_REGISTRYINDEX);
}

void host_take(struct host *host, struct instance *instance) { host->lua = sandbox_lua(instance->sandbox); }

bool host_call(struct host *host, struct instance *instance, int arguments, int results, int64_t budget,
               struct fault *fault)
{
    host->running = instance;
    host->sharing.folder = instance->rule->folder;
    bool good = sandbox_call(instance->sandbox, &instance->program, arguments, results, budget, fault);
    host->running = NULL;
    return good;
}

struct instance *running_instance(lua_State *lua)
{
    struct instance *instance = host_of(lua)->running;
    if (!instance)
        luaL_error(lua, NOT_WHILE_LOADING);
    return instance;
}

static void begin_counting(struct host *host, struct instance *instance, bool begun_late)
{
    streaks_free(instance->streaks);
    instance->streaks = streaks_new(host->arena, instance->rule->shape, begun_late);
    instance->judged = instance->met = 0;
}

/* Runs the rule's file in a new environment. */
static void start_rule(struct host *host, struct instance *instance)
{
    host_take(host, instance);
    lua_State *lua = host->lua;
    struct fault fault = {0};
    begin_counting(host, instance, host->begun_late && !instance->rule->site_rule);
    instance->broke = false;
    instance->why = (struct text){0};
    set_state(host, instance);
    if (instance->state != RULE_JUDGED)
        return;
    resolve_parameters(host, instance);
    make_room_for_answers(host, instance);
    const struct instance *before = judged_before(host, instance->rule);
    instance->program = instance->compiled;
    sandbox_allow_rows(&instance->program, history_rows(host->history));
    if (before) {
        instance->program.left = before->program.left;
        instance->program.time_left = before->program.time_left;
    }
    host->sharing.folder = instance->rule->folder;
    lua_rawgeti(lua, LUA_REGISTRYINDEX, instance->program.chunk);
    sandbox_push_environment(lua);
    lua_setupvalue(lua, -2, 1);
    if (!sandbox_call(instance->sandbox, &instance->program, 0, 1, SANDBOX_SITE_BUDGET, &fault)) {
        host_break(host, instance, &fault);
        return;
    }
    if (!lua_istable(lua, -1)) { /* it was a table when the rule was read, but a file can tell the two apart */
        lua_pop(lua, 1);
        fault_set(&fault, FAULT_RULE, "%.*s: gives no rule when it is run for a site",
                  TEXT_FORMAT(instance->rule->file));
        host_break(host, instance, &fault);
        return;
    }
    instance->check = keep_function(lua, "check");
    instance->affects = keep_function(lua, "affects");
    lua_pop(lua, 1);
}

static bool listens(const struct instance *instance, enum fact_scope scope)
{
    const struct rule *rule = instance->rule;
    bool fits = rule->on == scope || (rule->on == SCOPE_RUN && (scope == SCOPE_TEST || scope == SCOPE_CONTROL));
    return fits && !rule->site_rule && instance->state == RULE_JUDGED;
}

/* All run rules, or those whose streaks reach back. */
static void list_listening(struct host *host, bool all)
{
    for (int scope = 0; scope < SCOPE_COUNT; scope++) {
        size_t count = 0;
        host->listening[scope] = arena_take(host->arena, (host->book->count + 1) * sizeof(struct instance *));
        for (size_t i = 0; i < host->book->count; i++)
            if (listens(&host->instances[i], (enum fact_scope)scope) &&
                (all || streaks_reach_back(host->instances[i].streaks)))
                host->listening[scope][count++] = &host->instances[i];
        host->listening[scope][count] = NULL;
    }
}

static void judge_walk_event(void *context, const struct event *event)
{
    struct host *host = context;
    if (host->watcher.event)
        host->watcher.event(host->watcher.context, event);
    bool in_period = host_in_period(host, event->day);
    for (struct instance **instance = host->listening[event->scope]; *instance; instance++)
        if ((*instance)->state == RULE_JUDGED) /* it may have broken meanwhile */
            judge_event(host, *instance, event, in_period);
}

static void judge_site_rule(struct host *host, struct instance *instance)
{
    struct fault fault = {0};
    host_take(host, instance);
    lua_rawgeti(host->lua, LUA_REGISTRYINDEX, instance->check);
    site_push(host);
    int64_t budget = SANDBOX_SITE_BUDGET + (int64_t)history_rows(host->history) * SANDBOX_BUDGET_OF_A_ROW;
    if (!host_call(host, instance, 1, 0, budget, &fault))
        host_break(host, instance, &fault);
}

/* Of what lies before the period only failures that last into it matter. So the walk begins with the period, and only
 * rules with a subject that fails from its first event on are judged anew, from the beginning. */
static void judge_run_rules(struct host *host)
{
    list_listening(host, true);
    walk_site(host->history, host->begun_late ? host->period.from : DAY_ABSENT, judge_walk_event, host);
    if (!host->begun_late)
        return;
    list_listening(host, false);
    bool any = false;
    for (size_t i = 0; i < host->book->count; i++) {
        struct instance *instance = &host->instances[i];
        if (instance->state != RULE_JUDGED || !streaks_reach_back(instance->streaks))
            continue;
        begin_counting(host, instance, false);
        any = true;
    }
    if (any)
        walk_site(host->history, DAY_ABSENT, judge_walk_event, host);
}

static bool has_runs_before(const struct history *history, day_number day)
{
    return history->run_count > 0 && history_day(history, history->runs[0].at) < day;
}

void host_judge_site(struct host *host, const struct history *history, const struct policies *policies,
                     struct period period)
{
    host->history = history;
    host->policies = policies;
    host->period = period;
    host->arena = arena_new();
    host->subjects = names_new();
    host->begun_late = !host->watcher.event && !host->watcher.verdict && has_runs_before(history, period.from);
    for (size_t i = 0; i < host->book->count; i++)
        start_rule(host, &host->instances[i]);
    judge_run_rules(host);
    for (size_t i = 0; i < host->book->count; i++) {
        struct instance *instance = &host->instances[i];
        if (instance->rule->site_rule && instance->state == RULE_JUDGED)
            judge_site_rule(host, instance);
    }
}

void host_leave_site(struct host *host)
{
    if (!host->history)
        return;
    for (size_t i = 0; i < host->book->count; i++) {
        struct instance *instance = &host->instances[i];
        lua_State *lua = sandbox_lua(instance->sandbox);
        luaL_unref(lua, LUA_REGISTRYINDEX, instance->check);
        luaL_unref(lua, LUA_REGISTRYINDEX, instance->affects);
        instance->check = instance->affects = LUA_NOREF;
        streaks_free(instance->streaks);
        instance->streaks = NULL;
        lua_gc(lua, LUA_GCCOLLECT);
    }
    names_free(host->subjects);
    arena_free(host->arena);
    host->subjects = NULL;
    host->arena = NULL;
    host->history = NULL;
}
