/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/filter.h"

#include <lauxlib.h>
#include <string.h>

#include "rulebook/in_order.h"

enum field_type { FIELD_NAME, FIELD_TEXT, FIELD_PLACE, FIELD_TIME, FIELD_DAY, FIELD_PERIOD, FIELD_IS_TEST };

#define NOTHING SIZE_MAX

static const struct {
    const char *name;
    enum field_type type;
    size_t value, has; /* offsets; has: NOTHING if no flag goes with it */
} fields[] = {
    {"analyzer", FIELD_NAME, offsetof(struct filter, analyzer), offsetof(struct filter, has_analyzer)},
    {"method", FIELD_NAME, offsetof(struct filter, method), offsetof(struct filter, has_method)},
    {"lot", FIELD_NAME, offsetof(struct filter, lot), offsetof(struct filter, has_lot)},
    {"operator", FIELD_NAME, offsetof(struct filter, operator_), offsetof(struct filter, has_operator)},
    {"specimen", FIELD_TEXT, offsetof(struct filter, specimen), offsetof(struct filter, has_specimen)},
    {"after", FIELD_PLACE, offsetof(struct filter, after), NOTHING},
    {"before", FIELD_PLACE, offsetof(struct filter, before), NOTHING},
    {"since", FIELD_TIME, offsetof(struct filter, since), NOTHING},
    {"upto", FIELD_TIME, offsetof(struct filter, upto), NOTHING},
    {"later_than", FIELD_TIME, offsetof(struct filter, later_than), NOTHING},
    {"earlier_than", FIELD_TIME, offsetof(struct filter, earlier_than), NOTHING},
    {"written_since", FIELD_TIME, offsetof(struct filter, written_since), NOTHING},
    {"written_upto", FIELD_TIME, offsetof(struct filter, written_upto), NOTHING},
    {"day", FIELD_DAY, offsetof(struct filter, day), offsetof(struct filter, has_day)},
    {"period", FIELD_PERIOD, 0, NOTHING},
    {"is_test", FIELD_IS_TEST, 0, NOTHING},
};

static void take_field(lua_State *lua, struct host *host, size_t row, struct filter *filter)
{
    char *value = (char *)filter + fields[row].value;
    switch (fields[row].type) {
    case FIELD_NAME:
        *(uint32_t *)(void *)value = names_find(host->history->names, to_text(lua, -1));
        break;
    case FIELD_TEXT:
        *(struct text *)(void *)value = host_keep(host, to_text(lua, -1));
        break;
    case FIELD_PLACE:
        *(int64_t *)(void *)value = sandbox_whole(lua, -1);
        break;
    case FIELD_TIME:
        *(moment *)(void *)value = to_moment(lua, lua_gettop(lua));
        break;
    case FIELD_DAY:
        *(day_number *)(void *)value = to_day(lua, -1);
        break;
    case FIELD_PERIOD:
        filter->in_period = lua_toboolean(lua, -1);
        return;
    case FIELD_IS_TEST:
        filter->only_tests = lua_toboolean(lua, -1);
        filter->only_controls = !filter->only_tests;
        return;
    }
    if (fields[row].has != NOTHING)
        *((bool *)filter + fields[row].has) = true;
}

void filter_read(lua_State *lua, struct host *host, int index, struct filter *out)
{
    *out = (struct filter){.after = -1,
                           .before = INT64_MAX,
                           .since = MOMENT_ABSENT,
                           .upto = MOMENT_ABSENT,
                           .later_than = MOMENT_ABSENT,
                           .earlier_than = MOMENT_ABSENT,
                           .written_since = MOMENT_ABSENT,
                           .written_upto = MOMENT_ABSENT,
                           .from = host->period.from,
                           .to = host->period.to};
    if (lua_isnoneornil(lua, index))
        return;
    luaL_checktype(lua, index, LUA_TTABLE);
    lua_pushnil(lua);
    for (sandbox_charge_walk(lua); next_in_order(lua, index); sandbox_charge_walk(lua)) {
        const char *name = key_name(lua, -2);
        size_t row = 0;
        while (row < sizeof fields / sizeof *fields && strcmp(fields[row].name, name) != 0)
            row++;
        if (row < sizeof fields / sizeof *fields)
            take_field(lua, host, row, out);
        else
            luaL_error(lua, "a filter has no field '%s'", name);
        lua_pop(lua, 1);
    }
}

/* The first run that can be at or after `at`, going by the minute. */
static uint32_t first_from(const struct history *history, moment at)
{
    int64_t minute = moment_seconds(at) / 60 * 60;
    size_t low = 0, high = history->run_count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (moment_seconds(history->runs[middle].at) < minute)
            low = middle + 1;
        else
            high = middle;
    }
    return (uint32_t)low;
}

uint32_t filter_first(const struct history *history, const struct filter *filter)
{
    if (filter->after >= (int64_t)history->run_count)
        return (uint32_t)history->run_count;
    uint32_t first = filter->after < 0 ? 0 : (uint32_t)filter->after + 1;
    moment from = filter->since != MOMENT_ABSENT ? filter->since : filter->later_than;
    if (from != MOMENT_ABSENT && first_from(history, from) > first)
        first = first_from(history, from);
    return first;
}

static bool fits_ids(const struct filter *filter, const struct run *run)
{
    return !(filter->only_tests && run->is_control) && !(filter->only_controls && !run->is_control) &&
           !(filter->has_analyzer && run->analyzer != filter->analyzer) &&
           !(filter->has_method && run->method != filter->method) && !(filter->has_lot && run->lot != filter->lot) &&
           !(filter->has_operator && run->operator_ != filter->operator_) &&
           !(filter->has_specimen && !text_equal(run_specimen(run), filter->specimen));
}

static bool fits_writing(const struct filter *filter, const struct run *run)
{
    if (filter->written_since == MOMENT_ABSENT && filter->written_upto == MOMENT_ABSENT)
        return true;
    return run->recorded_at != MOMENT_ABSENT &&
           (filter->written_since == MOMENT_ABSENT || moment_compare(run->recorded_at, filter->written_since) >= 0) &&
           (filter->written_upto == MOMENT_ABSENT || moment_compare(run->recorded_at, filter->written_upto) <= 0);
}

static bool fits_time(const struct history *history, const struct filter *filter, const struct run *run)
{
    if (filter->since != MOMENT_ABSENT && moment_compare(run->at, filter->since) < 0)
        return false;
    if (filter->later_than != MOMENT_ABSENT && moment_compare(run->at, filter->later_than) <= 0)
        return false;
    if (filter->upto != MOMENT_ABSENT && moment_compare(run->at, filter->upto) > 0)
        return false;
    if (filter->earlier_than != MOMENT_ABSENT && moment_compare(run->at, filter->earlier_than) >= 0)
        return false;
    day_number day = history_day(history, run->at);
    if (filter->has_day && day != filter->day)
        return false;
    return !filter->in_period || (day >= filter->from && day <= filter->to);
}

/* Is the run surely behind the filter's end, so that no later one fits either? */
static bool behind(const struct history *history, const struct filter *filter, const struct run *run)
{
    int64_t minute = moment_seconds(run->at) / 60;
    if (filter->upto != MOMENT_ABSENT && minute > moment_seconds(filter->upto) / 60)
        return true;
    if (filter->earlier_than != MOMENT_ABSENT && minute > moment_seconds(filter->earlier_than) / 60)
        return true;
    day_number day = history_day(history, run->at);
    return (filter->has_day && day > filter->day) || (filter->in_period && day > filter->to);
}

static bool next_that_fits(const struct history *history, const struct filter *filter, uint32_t *place)
{
    for (; *place < history->run_count && *place < filter->before; ++*place) {
        const struct run *run = &history->runs[*place];
        if (behind(history, filter, run))
            return false;
        if (fits_ids(filter, run) && fits_writing(filter, run) && fits_time(history, filter, run))
            return true;
    }
    return false;
}

enum { RUNS_FOR_AN_INSTRUCTION = 4 };

void charge_runs(lua_State *lua, size_t looked_at)
{
    sandbox_charge(lua, (int64_t)(looked_at / RUNS_FOR_AN_INSTRUCTION));
}

bool filter_next(lua_State *lua, const struct history *history, const struct filter *filter, uint32_t *place)
{
    uint32_t from = *place;
    bool found = next_that_fits(history, filter, place);
    charge_runs(lua, *place - from + (found ? RUNS_FOR_AN_INSTRUCTION : 0)); /* what fits costs more than a look */
    return found;
}
