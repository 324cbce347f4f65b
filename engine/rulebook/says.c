/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "base/utf8.h"
#include "rulebook/host.h"

struct text when_text(struct when when, struct arena *arena)
{
    char printed[MOMENT_TEXT_SIZE];
    if (when.kind == WHEN_NEVER)
        return (struct text){0};
    if (when.kind == WHEN_DAY)
        day_print(when.day, printed);
    else
        moment_print(when.at, printed);
    return text_keep(arena, text_of(printed));
}

static struct text day_text(day_number day, struct arena *arena)
{
    return when_text((struct when){.kind = WHEN_DAY, .day = day}, arena);
}

static struct text time_text(moment at, struct arena *arena)
{
    return when_text((struct when){.kind = WHEN_TIME, .at = at}, arena);
}

/* A run as its log says it: a test by its id, a control by time, analyzer, control lot and level. */
struct text run_record_text(const struct history *history, const struct run *run, bool with_result, struct arena *arena)
{
    if (!run->is_control)
        return run_test(run);
    char at[MOMENT_TEXT_SIZE];
    moment_print(run->at, at);
    const struct names *names = history->names;
    struct text record =
        text_print(arena, "%s %.*s %.*s %.*s", at, TEXT_FORMAT(names_text(names, run->analyzer)),
                   TEXT_FORMAT(names_text(names, run->control_lot)), TEXT_FORMAT(names_text(names, run->level)));
    return with_result ? text_print(arena, "%.*s %.*s", TEXT_FORMAT(record), TEXT_FORMAT(run_result(run))) : record;
}

struct text fact_text(const struct host *host, int fact, const struct fact *value, struct arena *arena)
{
    if (!value->present)
        return TEXT("none");
    switch (fact_rows[fact].type) {
    case FACT_BOOL:
        return value->yes ? TEXT("yes") : TEXT("no");
    case FACT_NUMBER:
        return text_print(arena, "%.10g", value->number);
    case FACT_DAY:
        return day_text((day_number)value->whole, arena);
    case FACT_TIME:
        return time_text(value->whole, arena);
    case FACT_NAME:
        return names_text(host->history->names, (uint32_t)value->whole);
    case FACT_TEXT:
        return text_keep(arena, value->text);
    case FACT_PLACE:
        return text_keep(arena, run_record_text(host->history, &host->history->runs[value->whole], false, arena));
    default:
        return text_print(arena, "%lld", (long long)value->whole);
    }
}

/* What a sentence has no room for need not be kept. */
static struct text fitting(struct text fill, size_t *room)
{
    if (fill.size > *room)
        fill.size = *room;
    *room -= fill.size;
    return fill;
}

struct text *fills_from_event(struct host *host, const struct instance *instance, const struct event *event)
{
    const struct rule *rule = instance->rule;
    struct text *fills = arena_take(host->arena, (rule->says_count + 1) * sizeof *fills);
    size_t room = SAYS_MOST + 1; /* one more, so that it is seen to be cut */
    for (size_t i = 0; i < rule->says_count; i++) {
        fills[i] = (struct text){0};
        if (!rule->says[i].name.data || room == 0)
            continue;
        const char *name = text_string(host->arena, rule->says[i].name);
        int fact = fact_named(name);
        if (fact >= 0)
            fills[i] = fact_text(host, fact, &event->facts[fact], host->arena);
        for (size_t p = 0; p < rule->parameter_count; p++)
            if (text_equal(rule->parameters[p].name, rule->says[i].name))
                fills[i] = parameter_text(&rule->parameters[p],
                                          host_parameter(host, instance, (int)p, event->method_index), host->arena);
        fills[i] = fitting(fills[i], &room);
    }
    return fills;
}

enum { NUMBER_TEXT_SIZE = 40 }; /* bytes at most, a day or a time too */

/* A field of judge's table, in the form that the placeholder asks for. */
static struct text judge_text(struct host *host, struct text form, size_t room, int index)
{
    lua_State *lua = host->lua;
    switch (lua_type(lua, index)) {
    case LUA_TSTRING:
        return host_keep(host, fitting(to_text(lua, index), &room));
    case LUA_TBOOLEAN:
        return lua_toboolean(lua, index) ? TEXT("yes") : TEXT("no");
    case LUA_TNUMBER:
        sandbox_keep(lua, NUMBER_TEXT_SIZE);
        if (form.data && text_is(form, "day"))
            return day_text(to_day(lua, index), host->arena);
        if (form.data && text_is(form, "time"))
            return time_text(to_moment(lua, index), host->arena);
        return text_print(host->arena, "%.10g", lua_tonumber(lua, index));
    default:
        return (struct text){0};
    }
}

struct text *fills_from_judge(struct host *host, const struct instance *instance, int table)
{
    const struct rule *rule = instance->rule;
    struct text *fills = arena_take(host->arena, (rule->says_count + 1) * sizeof *fills);
    size_t room = SAYS_MOST + 1; /* one more, so that it is seen to be cut */
    for (size_t i = 0; i < rule->says_count; i++) {
        fills[i] = (struct text){0};
        /* {to} is the finding's end as printed, also where judge was told it as a time */
        bool end = !rule->says[i].form.data && rule->says[i].name.data && text_is(rule->says[i].name, "to");
        if (!rule->says[i].name.data || end || room == 0)
            continue;
        lua_pushlstring(host->lua, rule->says[i].name.data, rule->says[i].name.size);
        lua_gettable(host->lua, table);
        fills[i] = fitting(judge_text(host, rule->says[i].form, room, -1), &room);
        lua_pop(host->lua, 1);
    }
    return fills;
}

/* "run" or "entry:entries": 1 run, 14 runs. */
static struct text counted(uint64_t count, struct text form, struct arena *arena)
{
    if (!form.data)
        return text_print(arena, "%llu", (unsigned long long)count);
    const char *colon = memchr(form.data, ':', form.size);
    struct text one = form, many = text_print(arena, "%.*ss", TEXT_FORMAT(form));
    if (colon) {
        one.size = (size_t)(colon - form.data);
        many = (struct text){colon + 1, form.size - one.size - 1};
    }
    return text_print(arena, "%llu %.*s", (unsigned long long)count, TEXT_FORMAT(count == 1 ? one : many));
}

static struct text span_text(const struct finding *finding, struct arena *arena)
{
    if (text_equal(finding->from, finding->to))
        return finding->from;
    return text_print(arena, "%.*s to %.*s", TEXT_FORMAT(finding->from), TEXT_FORMAT(finding->to));
}

static struct text late_fill(const struct says_part *part, const struct streak *streak, const struct finding *finding,
                             struct arena *arena)
{
    if (text_is(part->name, "events"))
        return counted(streak->events, part->form, arena);
    if (text_is(part->name, "tests"))
        return counted(finding->test_count, part->form, arena);
    if (text_is(part->name, "from"))
        return finding->from;
    if (text_is(part->name, "to"))
        return finding->to;
    if (text_is(part->name, "span"))
        return span_text(finding, arena);
    for (int i = 0; i < SUBJECT_COUNT; i++)
        if (text_is(part->name, subject_field_name((enum subject_field)i)))
            return finding->subject[i];
    return (struct text){0};
}

/* ---- the sentence ---- */

int64_t says_cost(const struct rule *rule, const struct text *fills)
{
    enum { USUAL = 300, LATE_FILL = 24 };
    size_t size = 0; /* in letters */
    for (size_t i = 0; i < rule->says_count; i++) {
        const struct says_part *part = &rule->says[i];
        size += utf8_count(part->literal);
        if (fills[i].data)
            size += utf8_count(fills[i]);
        else if (part->name.data)
            size += LATE_FILL + part->form.size;
    }
    if (size > SAYS_MOST)
        size = SAYS_MOST;
    size_t attribute = 0;
    for (size_t i = 0; i < rule->attribute_count; i++)
        attribute = rule->attributes[i].size > attribute ? rule->attributes[i].size : attribute;
    size += attribute;
    return (int64_t)(rule->long_text + (size > USUAL ? size - USUAL : 0)) * COST_OF_LONG_TEXT;
}

struct sentence {
    char bytes[SAYS_MOST];
    size_t size;
    bool is_cut;
};

static void add(struct sentence *sentence, struct text text)
{
    size_t room = sizeof sentence->bytes - sentence->size;
    sentence->is_cut = sentence->is_cut || text.size > room;
    size_t size = text.size < room ? text.size : room;
    if (size > 0)
        memcpy(sentence->bytes + sentence->size, text.data, size);
    sentence->size += size;
}

/* Before a whole character, with marks that say so. */
static void end_cut(struct sentence *sentence)
{
    static const char mark[] = "…";
    size_t size = sizeof sentence->bytes - (sizeof mark - 1);
    while (size > 0 && ((unsigned char)sentence->bytes[size] & 0xC0) == 0x80)
        size--;
    memcpy(sentence->bytes + size, mark, sizeof mark - 1);
    sentence->size = size + sizeof mark - 1;
}

struct text says_finding(const struct rule *rule, const struct streak *streak, const struct finding *finding,
                         struct arena *arena)
{
    struct sentence sentence = {.size = 0};
    for (size_t i = 0; i < rule->says_count; i++) {
        const struct says_part *part = &rule->says[i];
        add(&sentence, part->literal);
        if (!part->name.data)
            continue;
        struct text fill =
            streak->fills && streak->fills[i].data ? streak->fills[i] : late_fill(part, streak, finding, arena);
        add(&sentence, fill.data ? fill : TEXT("none"));
    }
    if (sentence.is_cut)
        end_cut(&sentence);
    return text_keep(arena, (struct text){sentence.bytes, sentence.size});
}
