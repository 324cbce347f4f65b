/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/examples.h"

#include <string.h>

#include <lauxlib.h>

#include "base/utf8.h"
#include "rulebook/example_site.h"
#include "rulebook/in_order.h"
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

enum {
    TESTS_SHOWN = 20, /* of a finding of an example */
    BROKEN_MOST = 10, /* examples: each has a budget of its own */
};

/* ---- comparing ---- */

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
    for (size_t i = 0; i < finding->test_count && i < TESTS_SHOWN; i++)
        text = text_print(arena, "%.*s%s%.*s", TEXT_FORMAT(text), i ? "," : "", TEXT_FORMAT(finding->tests[i]->test));
    return text_print(arena, "%.*s%s }", TEXT_FORMAT(text), finding->test_count > TESTS_SHOWN ? ",…" : "");
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
        const char *test = lua_type(lua, -1) == LUA_TSTRING ? lua_tostring(lua, -1) : NULL;
        for (size_t t = 0; test && !there && t < finding->test_count; t++)
            there = text_is(finding->tests[t]->test, test);
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

/* ---- running ---- */

static void judge_example(struct host *host, const struct example *example, struct history *history,
                          struct outcome *outcome)
{
    presence_find(history, NULL, 0);
    struct policy none = {0};
    struct policies policies = {&example->settings.policy, &none};
    struct site_result result;
    outcome->audit = audit_new();
    audit_history(host, outcome->audit, &outcome->growing, history, &policies,
                  (struct period){example->from, example->to, example->to}, &result);
}

static void outcome_clear(struct outcome *outcome)
{
    memory_free(outcome->growing.findings);
    memory_free(outcome->growing.rules);
    audit_free(outcome->audit);
}

/* The example at the top of the stack. */
static void run_example(lua_State *lua, const struct example_site *site, struct host *host, struct arena *arena,
                        struct example_result *result)
{
    struct fault fault = {0};
    struct example example;
    AUTO(history) history = NULL;
    struct outcome outcome = {0};
    int top = lua_gettop(lua);
    if (example_read(lua, site, &example, &fault) && example_history(lua, &example, &history, &fault)) {
        judge_example(host, &example, history, &outcome);
        const struct rule_at_site *rule = &outcome.growing.rules[0];
        result->broke = rule->broke;
        if (rule->broke)
            fault_set(&fault, FAULT_RULE, "%.*s", TEXT_FORMAT(rule->why));
        result->holds = !rule->broke && compare_findings(lua, &outcome, arena, &result->why) &&
                        compare_count(lua, "judged", rule->judged, arena, &result->why) &&
                        compare_count(lua, "met", rule->met, arena, &result->why);
    }
    lua_settop(lua, top); /* what is wrong with an example may lie on it */
    if (fault.code) {
        result->holds = false;
        result->why = text_keep(arena, text_of(fault.text));
    }
    outcome_clear(&outcome);
    history_free(history);
    history = NULL;
    example_clear(&example);
}

/* ---- a rule's examples ---- */

/* A rule's file, run in a sandbox of its own for its examples, and a host with this one rule. */
struct opened_rule {
    struct sandbox *sandbox;
    struct sharing sharing;
    struct rulebook alone;
    struct host *host;
};

static void opened_rule_free(struct opened_rule *opened)
{
    if (!opened)
        return;
    host_free(opened->host);
    sandbox_free(opened->sandbox);
    memory_free(opened);
}
OWNER(opened_rule);

/* The entries of all lists in the list of examples at the top of the stack; a list that is too long is told with its
 * example. */
static size_t count_entries(lua_State *lua)
{
    size_t all = 0, count = lua_rawlen(lua, -1);
    for (size_t i = 1; i <= count; i++) {
        if (lua_geti(lua, -1, (lua_Integer)i) == LUA_TTABLE) {
            lua_pushnil(lua);
            for (size_t length; lua_next(lua, -2); lua_pop(lua, 1))
                if (lua_istable(lua, -1) && list_length(lua, -1, EXAMPLE_ENTRIES_MOST, &length))
                    all += length;
        }
        lua_pop(lua, 1);
    }
    return all;
}

/* The examples at the top of the stack as they can be read in a time that ends. */
static bool take_examples(lua_State *lua, const struct rule *rule, struct fault *fault)
{
    enum { DEEP = 4 }; /* examples, an example, its rows or findings, one of them, tests of a finding */
    if (!copy_small(lua, 2 * EXAMPLE_ENTRIES_MOST, EXAMPLES_BYTES_MOST, DEEP))
        return fault_set(fault, FAULT_RULE,
                         "%s: examples: a table has more than 2,000 entries, or all have more than 256 KiB of text",
                         rule->file.data);
    return count_entries(lua) <= EXAMPLES_ENTRIES_MOST ||
           fault_set(fault, FAULT_RULE, "%s: examples: have more than 10,000 rows together", rule->file.data);
}

/* Leaves the list of examples at the top of the sandbox's stack. */
static struct opened_rule *open_rule(const struct rulebook *book, const struct rulebook *installed,
                                     const struct rule *rule, struct fault *fault)
{
    AUTO(opened_rule) opened = memory_new(sizeof *opened);
    opened->sandbox = sandbox_new();
    opened->sharing = (struct sharing){book, rule->folder};
    opened->alone = (struct rulebook){.rules = (struct rule *)(uintptr_t)rule,
                                      .count = 1,
                                      .shared = book->shared,
                                      .shared_count = book->shared_count};
    opened->host = host_new(&opened->alone);
    opened->host->known[0] = book;
    opened->host->known[1] = installed;
    lua_State *lua = sandbox_lua(opened->sandbox);
    struct sandbox_program program;
    sandbox_offer(opened->sandbox, "rule", take_rule, NULL);
    rulebook_share(opened->sandbox, &opened->sharing);
    if (!sandbox_compile(opened->sandbox, rule->file.data, rule->source, &program, fault))
        return NULL;
    lua_rawgeti(lua, LUA_REGISTRYINDEX, program.chunk);
    sandbox_push_environment(lua);
    lua_setupvalue(lua, -2, 1);
    if (!sandbox_call(opened->sandbox, &program, 0, 1, SANDBOX_SITE_BUDGET, fault))
        return NULL;
    size_t count;
    if (!lua_istable(lua, -1) || lua_getfield(lua, -1, "examples") != LUA_TTABLE ||
        !list_length(lua, -1, RULE_EXAMPLES_MOST, &count)) {
        fault_set(fault, FAULT_RULE, "%s: gives no rule with examples when it is run for them", rule->file.data);
        return NULL;
    }
    if (!take_examples(lua, rule, fault))
        return NULL;
    struct opened_rule *good = opened;
    opened = NULL;
    return good;
}

/* The name of the example at the top of the stack. */
static struct text example_name(lua_State *lua, struct arena *arena)
{
    lua_geti(lua, -1, 1);
    const char *name = lua_isstring(lua, -1) ? lua_tostring(lua, -1) : "an example without a name";
    struct text kept = text_keep(arena, utf8_cut(text_of(name), RULE_TEXT_MOST));
    lua_pop(lua, 1);
    return kept;
}

bool examples_run(struct example_site *site, const struct rulebook *book, const struct rulebook *installed,
                  const struct rule *rule, example_function *function, void *context, struct fault *fault)
{
    AUTO(opened_rule) opened = open_rule(book, installed, rule, fault);
    AUTO(arena) arena = arena_new();
    if (!opened)
        return false;
    lua_State *lua = sandbox_lua(opened->sandbox);
    size_t count = lua_rawlen(lua, -1), broken = 0;
    for (size_t i = 1; i <= count; i++) {
        struct example_result result = {0};
        if (lua_geti(lua, -1, (lua_Integer)i) != LUA_TTABLE)
            return fault_set(fault, FAULT_RULE, "%s: examples: each must be a table", rule->file.data);
        result.name = example_name(lua, arena);
        if (broken < BROKEN_MOST)
            run_example(lua, site, opened->host, arena, &result);
        else
            result.why = TEXT("was not run: the rule broke at ten before it");
        broken += result.broke;
        lua_pop(lua, 1);
        function(context, rule, &result);
    }
    return true;
}

/* ---- telling one ---- */

/* From the list at the top of the stack, on top of it: the first example that finds something, or else the first. */
static void choose_example(lua_State *lua)
{
    size_t count = lua_rawlen(lua, -1);
    for (size_t i = 1; i <= count; i++) {
        bool finds = false;
        if (lua_geti(lua, -1, (lua_Integer)i) == LUA_TTABLE) {
            finds = lua_getfield(lua, -1, "finds") == LUA_TTABLE && lua_rawlen(lua, -1) > 0;
            lua_pop(lua, 1);
        }
        if (finds)
            return;
        lua_pop(lua, 1);
    }
    lua_geti(lua, -1, 1);
}

static struct text found_text(const struct finding *finding, struct arena *arena)
{
    struct text tests = TEXT("");
    for (size_t i = 0; i < finding->test_count && i < TESTS_SHOWN; i++)
        tests =
            text_print(arena, "%.*s%s%.*s", TEXT_FORMAT(tests), i ? ", " : "", TEXT_FORMAT(finding->tests[i]->test));
    if (finding->test_count > TESTS_SHOWN)
        tests = text_print(arena, "%.*s …", TEXT_FORMAT(tests));
    if (!tests.size)
        return text_keep(arena, finding->says);
    return text_print(arena, "%.*s. Affected: %.*s", TEXT_FORMAT(finding->says), TEXT_FORMAT(tests));
}

static void tell_findings(const struct outcome *outcome, struct arena *arena, struct example_told *out)
{
    out->found = arena_take(arena, (outcome->growing.finding_count + 1) * sizeof *out->found);
    for (size_t i = 0; i < outcome->growing.finding_count; i++)
        out->found[out->found_count++] = found_text(&outcome->growing.findings[i], arena);
}

static struct text day_text(day_number day, struct arena *arena)
{
    char text[DAY_TEXT_SIZE];
    day_print(day, text);
    return text_keep(arena, text_of(text));
}

bool example_tell(struct example_site *site, const struct rulebook *book, const struct rule *rule, struct arena *arena,
                  struct example_told *out, struct fault *fault)
{
    AUTO(opened_rule) opened = open_rule(book, NULL, rule, fault);
    AUTO(history) history = NULL;
    struct example example;
    struct outcome outcome = {0};
    *out = (struct example_told){0};
    if (!opened)
        return false;
    lua_State *lua = sandbox_lua(opened->sandbox);
    choose_example(lua);
    if (!lua_istable(lua, -1))
        return fault_set(fault, FAULT_RULE, "%s: examples: each must be a table", rule->file.data);
    out->name = example_name(lua, arena);
    bool good = example_read(lua, site, &example, fault) && example_history(lua, &example, &history, fault);
    if (good) {
        out->from = day_text(example.from, arena);
        out->to = day_text(example.to, arena);
        example_given(lua, site, &example, arena, out);
        judge_example(opened->host, &example, history, &outcome);
        tell_findings(&outcome, arena, out);
    }
    outcome_clear(&outcome);
    history_free(history);
    history = NULL;
    example_clear(&example);
    return good;
}
