/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/examples.h"

#include <string.h>

#include <lauxlib.h>

#include "rulebook/example_site.h"
#include "rulebook/judged.h"
#include "timeline/presence.h"

static int take_rule(lua_State *lua)
{
    luaL_checktype(lua, 1, LUA_TTABLE);
    lua_settop(lua, 1);
    return 1;
}

struct outcome { /* what judging an example gave */
    struct audit *audit;
    struct growing growing;
};

/* ---- comparing
 * --------------------------------------------------------------------------------------------------------- */

static struct text finding_text(const struct finding *finding, struct arena *arena)
{
    struct text text = TEXT("{");
    for (int i = 0; i < SUBJECT_COUNT; i++)
        if (finding->subject[i].data)
            text = text_print(arena, "%.*s %s=%.*s", TEXT_FORMAT(text), subject_field_name((enum subject_field)i),
                              TEXT_FORMAT(finding->subject[i]));
    text = text_print(arena, "%.*s from=%.*s to=%.*s events=%llu tests=", TEXT_FORMAT(text),
                      TEXT_FORMAT(finding->from.data ? finding->from : TEXT("-")),
                      TEXT_FORMAT(finding->to.data ? finding->to : TEXT("-")), (unsigned long long)finding->events);
    for (size_t i = 0; i < finding->test_count; i++)
        text = text_print(arena, "%.*s%s%.*s", TEXT_FORMAT(text), i ? "," : "", TEXT_FORMAT(finding->tests[i]->test));
    return text_print(arena, "%.*s }", TEXT_FORMAT(text));
}

/* The field's text of a finding; absent for a name that is none. */
static struct text field_of(const struct finding *finding, const char *name)
{
    for (int i = 0; i < SUBJECT_COUNT; i++)
        if (!strcmp(name, subject_field_name((enum subject_field)i)))
            return finding->subject[i];
    if (!strcmp(name, "from"))
        return finding->from;
    if (!strcmp(name, "to"))
        return finding->to;
    if (!strcmp(name, "severity"))
        return text_of(severity_name(finding->severity));
    if (!strcmp(name, "duty"))
        return text_of(duty_name(finding->duty));
    if (!strcmp(name, "says"))
        return finding->says;
    return (struct text){0};
}

/* The list of test ids at the top of the stack, in any order. */
static bool same_tests(lua_State *lua, const struct finding *finding)
{
    if (lua_rawlen(lua, -1) != finding->test_count)
        return false;
    for (size_t i = 1; i <= finding->test_count; i++) {
        lua_geti(lua, -1, (lua_Integer)i);
        bool there = false;
        for (size_t t = 0; t < finding->test_count; t++)
            there = there || (lua_isstring(lua, -1) && text_is(finding->tests[t]->test, lua_tostring(lua, -1)));
        lua_pop(lua, 1);
        if (!there)
            return false;
    }
    return true;
}

/* Does the finding have all that the table at the top of the stack names? */
static bool fits(lua_State *lua, const struct finding *finding)
{
    bool same = true;
    lua_pushnil(lua);
    while (lua_next(lua, -2)) {
        const char *name = lua_type(lua, -2) == LUA_TSTRING ? lua_tostring(lua, -2) : "";
        if (!strcmp(name, "tests"))
            same = same && lua_istable(lua, -1) && same_tests(lua, finding);
        else if (!strcmp(name, "events"))
            same = same && (uint64_t)lua_tointeger(lua, -1) == finding->events;
        else
            same = same && lua_isstring(lua, -1) && text_is(field_of(finding, name), lua_tostring(lua, -1));
        lua_pop(lua, 1);
    }
    return same;
}

static bool compare_findings(lua_State *lua, const struct outcome *outcome, struct arena *arena, struct text *why)
{
    bool ok = lua_getfield(lua, -1, "finds") == LUA_TTABLE && lua_rawlen(lua, -1) == outcome->growing.finding_count;
    bool *used = arena_take(arena, outcome->growing.finding_count + 1);
    memset(used, 0, outcome->growing.finding_count + 1);
    for (size_t i = 1; ok && i <= outcome->growing.finding_count; i++) {
        bool found = false;
        lua_geti(lua, -1, (lua_Integer)i);
        for (size_t f = 0; !found && lua_istable(lua, -1) && f < outcome->growing.finding_count; f++)
            if (!used[f] && fits(lua, &outcome->growing.findings[f]))
                found = used[f] = true;
        lua_pop(lua, 1);
        ok = found;
    }
    lua_pop(lua, 1);
    if (ok)
        return true;
    *why = text_print(arena, "found %zu:", outcome->growing.finding_count);
    for (size_t f = 0; f < outcome->growing.finding_count && f < 5; f++)
        *why = text_print(arena, "%.*s %.*s", TEXT_FORMAT(*why),
                          TEXT_FORMAT(finding_text(&outcome->growing.findings[f], arena)));
    return false;
}

static bool compare_count(lua_State *lua, const char *field, uint64_t count, struct arena *arena, struct text *why)
{
    bool ok = lua_getfield(lua, -1, field) == LUA_TNIL || (uint64_t)lua_tointeger(lua, -1) == count;
    if (!ok)
        *why =
            text_print(arena, "%s %llu, not %lld", field, (unsigned long long)count, (long long)lua_tointeger(lua, -1));
    lua_pop(lua, 1);
    return ok;
}

/* ---- running
 * ----------------------------------------------------------------------------------------------------------- */

static void judge_example(struct host *host, const struct example *example, struct history *history,
                          struct outcome *outcome)
{
    AUTO(presence) presence = presence_new();
    presence_add(presence, history);
    presence_ready(presence);
    history->presence = presence;
    struct policy none = {0};
    struct policies policies = {&example->settings.policy, &none};
    struct site_result result;
    outcome->audit = audit_new();
    audit_history(host, outcome->audit, &outcome->growing, history, &policies,
                  (struct period){example->from, example->to, example->to}, &result);
}

/* The example at the top of the stack. */
static void run_example(lua_State *lua, const struct example_site *site, struct host *host, struct arena *arena,
                        struct example_result *result)
{
    struct fault fault = {0};
    struct example example;
    AUTO(history) history = NULL;
    struct outcome outcome = {0};
    if (example_read(lua, site, &example, &fault) && example_history(lua, &example, &history, &fault)) {
        judge_example(host, &example, history, &outcome);
        const struct rule_at_site *rule = &outcome.growing.rules[0];
        if (rule->broke)
            fault_set(&fault, FAULT_RULE, "%.*s", TEXT_FORMAT(rule->why));
        result->holds = !rule->broke && compare_findings(lua, &outcome, arena, &result->why) &&
                        compare_count(lua, "judged", rule->judged, arena, &result->why) &&
                        compare_count(lua, "met", rule->met, arena, &result->why);
    }
    if (fault.code) {
        result->holds = false;
        result->why = text_keep(arena, text_of(fault.text));
    }
    memory_free(outcome.growing.findings);
    memory_free(outcome.growing.rules);
    audit_free(outcome.audit);
    history_free(history);
    history = NULL;
    example_clear(&example);
}

bool examples_run(struct example_site *site, const struct rulebook *book, const struct rulebook *installed,
                  const struct rule *rule, example_function *function, void *context, struct fault *fault)
{
    AUTO(sandbox) sandbox = sandbox_new();
    AUTO(arena) arena = arena_new();
    lua_State *lua = sandbox_lua(sandbox);
    struct rulebook alone = {.rules = (struct rule *)(uintptr_t)rule,
                             .count = 1,
                             .shared = book->shared,
                             .shared_count = book->shared_count};
    struct sharing sharing = {book, sandbox};
    AUTO(host) host = host_new(&alone);
    host->known[0] = book;
    host->known[1] = installed;
    int chunk;
    sandbox_offer(sandbox, "rule", take_rule, NULL);
    rulebook_share(&sharing);
    if (!sandbox_compile(sandbox, rule->file.data, rule->source, &chunk, fault))
        return false;
    lua_rawgeti(lua, LUA_REGISTRYINDEX, chunk);
    sandbox_push_environment(sandbox);
    lua_setupvalue(lua, -2, 1);
    if (!sandbox_call(sandbox, 0, 1, SANDBOX_SITE_BUDGET, fault))
        return false;
    lua_getfield(lua, -1, "examples");
    size_t count = lua_rawlen(lua, -1);
    for (size_t i = 1; i <= count; i++) {
        struct example_result result = {0};
        if (lua_geti(lua, -1, (lua_Integer)i) != LUA_TTABLE)
            return fault_set(fault, FAULT_RULE, "%s: examples: each must be a table", rule->file.data);
        lua_geti(lua, -1, 1);
        result.name =
            text_keep(arena, text_of(lua_isstring(lua, -1) ? lua_tostring(lua, -1) : "an example without a name"));
        lua_pop(lua, 1);
        run_example(lua, site, host, arena, &result);
        lua_pop(lua, 1);
        function(context, rule, &result);
    }
    return true;
}
