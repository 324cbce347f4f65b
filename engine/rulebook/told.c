/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Judging by site rules: each event is told by a call of `judge`, or of `met`. */
#include <lauxlib.h>
#include <string.h>

#include "base/utf8.h"
#include "rulebook/host.h"

enum { WORD_MOST = 2048 }; /* bytes: the longest key has three ids of 64 characters and a result of 200 */
enum { FILE_MOST = 512 };  /* bytes: more than records/KIND/NAME can have */
enum { COUNT_MOST = 1000000000 };
enum { COST_OF_EVIDENCE = 50 }; /* instructions for each piece: it is read, kept, put in order, and written */

static struct when read_when(lua_State *lua, const char *time_field, const char *day_field)
{
    struct when when = {.kind = WHEN_NEVER};
    if (lua_getfield(lua, 1, time_field) != LUA_TNIL)
        when = (struct when){.kind = WHEN_TIME, .at = to_moment(lua, lua_gettop(lua))};
    lua_pop(lua, 1);
    if (!day_field)
        return when;
    if (lua_getfield(lua, 1, day_field) != LUA_TNIL)
        when = (struct when){.kind = WHEN_DAY, .day = to_day(lua, -1)};
    lua_pop(lua, 1);
    return when;
}

/* The day that decides whether an event lies in the period; DAY_ABSENT: a state does. */
static day_number told_day(const struct host *host, struct when when)
{
    lua_State *lua = host->lua;
    bool told = lua_getfield(lua, 1, "judged_on") != LUA_TNIL;
    day_number day = told ? to_day(lua, -1) : 0;
    lua_pop(lua, 1);
    if (told)
        return day;
    if (when.kind == WHEN_NEVER)
        return DAY_ABSENT;
    return when.kind == WHEN_DAY ? when.day : history_day(host->history, when.at);
}

static void check_size(lua_State *lua, struct text word)
{
    luaL_argcheck(lua, word.size <= WORD_MOST, 1, "a field is longer than 2,048 bytes");
}

/* Pages set them, and take long over long words; four ids have 256 letters, a log's path may have some more. */
static void charge_for_words(lua_State *lua, size_t letters)
{
    enum { USUAL = 300 };
    if (letters > USUAL)
        sandbox_charge_all(lua, (int64_t)(letters - USUAL) * COST_OF_LONG_TEXT);
}

/* What a finding shows of its subject is charged once, at its first event. */
static void charge_for_subject(lua_State *lua, const struct rule *rule)
{
    size_t letters = 0;
    for (int i = 0; i < SUBJECT_COUNT; i++) {
        if (rule->subject[i].from != FROM_JUDGE)
            continue;
        if (lua_getfield(lua, 1, subject_field_name((enum subject_field)i)) != LUA_TNIL)
            letters += utf8_count(to_text(lua, -1));
        lua_pop(lua, 1);
    }
    charge_for_words(lua, letters);
}

static struct subject told_subject(struct host *host, const struct rule *rule)
{
    struct subject subject = {{0}};
    for (int i = 0; i < SUBJECT_COUNT; i++) {
        if (rule->subject[i].from != FROM_JUDGE)
            continue;
        if (lua_getfield(host->lua, 1, subject_field_name((enum subject_field)i)) != LUA_TNIL) {
            struct text field = to_text(host->lua, -1);
            check_size(host->lua, field);
            sandbox_tell(host->lua, field.size);
            subject.fields[i] = host_subject_id(host, field);
        }
        lua_pop(host->lua, 1);
    }
    return subject;
}

/* Evidence: records that site.records gave, or places of runs. */
static void told_evidence(struct host *host, struct streak *streak)
{
    lua_State *lua = host->lua;
    if (lua_getfield(lua, 1, "because") != LUA_TTABLE) {
        lua_pop(lua, 1);
        return;
    }
    size_t count = sandbox_length(lua, -1);
    struct text last = {0}; /* file */
    sandbox_keep(lua, count * sizeof *streak->evidence);
    for (size_t i = 0; i < count; i++) {
        sandbox_charge(lua, COST_OF_EVIDENCE);
        int type = lua_geti(lua, -1, (lua_Integer)i + 1);
        if (type == LUA_TNUMBER) {
            lua_Integer place = sandbox_whole(lua, -1);
            luaL_argcheck(lua, place >= 0 && (size_t)place < host->history->run_count, 1,
                          "because: no run at this place");
            const struct run *run = &host->history->runs[place];
            streak_add_evidence(streak, (struct place){run->file, run->line}, (struct text){0});
        } else if (type == LUA_TTABLE) {
            lua_getfield(lua, -1, "file");
            lua_getfield(lua, -2, "line");
            struct text file = to_text(lua, -2);
            luaL_argcheck(lua, file.size > 0, 1, "because: a record has no file");
            luaL_argcheck(lua, file.size <= FILE_MOST, 1, "because: a file's name is longer than 512 bytes");
            if (!text_equal(file, last)) /* a file is named once for all its lines */
                charge_for_words(lua, utf8_count(file));
            last = host_keep(host, file);
            lua_Integer line = lua_isnil(lua, -1) ? 0 : sandbox_whole(lua, -1);
            luaL_argcheck(lua, line >= 0 && line <= UINT32_MAX, 1, "because: no line has this number");
            streak_add_evidence(streak, (struct place){0, (uint32_t)line}, last);
            lua_pop(lua, 2);
        } else {
            luaL_error(lua, "judge: because must hold records or places");
        }
        lua_pop(lua, 1);
    }
    lua_pop(lua, 1);
}

static struct text told_word(lua_State *lua, const char *field)
{
    lua_getfield(lua, 1, field);
    struct text word = to_text(lua, -1);
    check_size(lua, word);
    lua_pop(lua, 1); /* still held by judge's table */
    return word;
}

/* `gone_test`: a withdrawn test has no place on the time line any more, but is named. */
static void tell_failed(struct host *host, struct instance *instance, struct when when, day_number day, bool in_period,
                        uint64_t count)
{
    lua_State *lua = host->lua;
    const struct rule *rule = instance->rule;
    struct subject subject = told_subject(host, rule);
    bool first;
    sandbox_keep(lua, sizeof(struct streak) + rule->says_count * sizeof(struct text));
    struct streak *streak = streaks_failed(instance->streaks, &subject, when, in_period, &first);
    if (!streak)
        return;
    if (in_period)
        streak_add_day(streak, day);
    if (rule->shape == SHAPE_STATE)
        streak->events = count;
    struct when end = read_when(lua, "to", "to_day");
    if (end.kind != WHEN_NEVER)
        streak->to = end;
    if (first) {
        charge_for_subject(lua, rule);
        streak_set_duty(streak, rule, told_word(lua, "by"));
        streak->fills = fills_from_judge(host, instance, 1);
        sandbox_charge_all(lua, says_cost(rule, streak->fills));
        struct text key = told_word(lua, "key");
        if (key.data)
            streak->first_key = host_keep(host, key);
    }
    if (first || rule->shape != SHAPE_STREAK)
        told_evidence(host, streak);
    struct text attribute = told_word(lua, "attribute");
    for (size_t i = 0; attribute.data && i < rule->attribute_count; i++)
        if (text_equal(rule->attributes[i], attribute) && (streak->attribute < 0 || (int)i < streak->attribute))
            streak->attribute = (int)i;
    if (lua_getfield(lua, 1, "tests") == LUA_TTABLE) {
        size_t length = sandbox_length(lua, -1);
        sandbox_keep(lua, length * sizeof *streak->tests);
        sandbox_charge(lua, (int64_t)length * COST_OF_A_TEST);
        if (!take_tests(host, streak))
            luaL_error(lua, "judge: tests holds what is no place of a run");
    } else {
        lua_pop(lua, 1);
    }
    struct text gone = told_word(lua, "gone_test");
    if (gone.size == 0)
        return;
    sandbox_charge(lua, COST_OF_A_TEST);
    charge_for_words(lua, utf8_count(gone));
    gone = host_keep(host, gone);
    VECTOR_GROW(streak->gone, streak->gone_count, streak->gone_capacity);
    streak->gone[streak->gone_count++] = gone;
}

/* How many events this judgement stands for: 1 unless it is told. */
static uint64_t told_count(lua_State *lua)
{
    lua_Integer count = 1;
    if (lua_getfield(lua, 1, "count") != LUA_TNIL)
        count = sandbox_whole(lua, -1);
    lua_pop(lua, 1);
    luaL_argcheck(lua, count >= 0 && count <= COUNT_MOST, 1, "count: must be between 0 and 1,000,000,000");
    return (uint64_t)count;
}

static int api_judge(lua_State *lua)
{
    struct host *host = host_of(lua);
    struct instance *instance = running_instance(lua);
    if (!instance->rule->site_rule)
        return luaL_error(lua, "judge is for site rules");
    luaL_checktype(lua, 1, LUA_TTABLE);
    lua_settop(lua, 1);
    if (lua_getfield(lua, 1, "ok") != LUA_TBOOLEAN)
        return luaL_error(lua, "judge: ok must be true or false");
    bool ok = lua_toboolean(lua, -1);
    lua_pop(lua, 1);
    struct when when = read_when(lua, "at", "day");
    day_number day = told_day(host, when);
    bool in_period = day == DAY_ABSENT || host_in_period(host, day);
    uint64_t count = in_period ? told_count(lua) : 0;
    instance->judged += count;
    if (!ok) {
        tell_failed(host, instance, when, day, in_period, count);
        return 0;
    }
    instance->met += count;
    if (!streaks_need_met(instance->streaks))
        return 0;
    struct subject subject = told_subject(host, instance->rule);
    streaks_met(instance->streaks, &subject);
    return 0;
}

/* Where findings are no streaks a met event ends none, so that its day is all there is to tell: no table is needed. */
static int api_met(lua_State *lua)
{
    struct host *host = host_of(lua);
    struct instance *instance = running_instance(lua);
    if (!instance->rule->site_rule || instance->rule->shape == SHAPE_STREAK)
        return luaL_error(lua, "met is for site rules whose findings are events or states");
    bool in_period = host_in_period(host, to_day(lua, 1));
    instance->judged += in_period;
    instance->met += in_period;
    return 0;
}

void judge_offer(struct host *host, struct sandbox *sandbox)
{
    sandbox_offer(sandbox, "judge", api_judge, host);
    sandbox_offer(sandbox, "met", api_met, host);
}
