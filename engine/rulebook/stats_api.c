/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The stats library that rules see: numbers and lists of numbers in, numbers out, nil outside of a function's domain.
 *
 * What a function here needs while it works is a userdata, which Lua frees, also when it throws; the functions of
 * engine/stats free what they take before they return, and never call Lua. Each pays for its work about what the same
 * time would cost in Lua. */
#include <lauxlib.h>
#include <math.h>

#include "records/units.h"
#include "rulebook/host.h"
#include "stats/descriptive.h"
#include "stats/intervals.h"
#include "stats/quantities.h"
#include "stats/regression.h"
#include "stats/robust.h"
#include "stats/sampling.h"
#include "stats/sigma.h"
#include "stats/tails.h"

enum {
    COST_OF_EXACT_INTERVAL = 20000,
    COST_OF_FUNNEL = 5000,
    COST_OF_FORMULA = 10,
    COST_OF_TAIL = 5000,
    COST_OF_A_PAIR = 20, /* of points, whose slope is sorted among the others */
    ROBUST_STEPS = 200,
    COST_OF_ROBUST_STEP = 2, /* for each number */
    TOTAL_MOST = 100000000,  /* as of the intervals */
};

/* The list of numbers at an index; a userdata keeps it until the call ends. */
static const double *read_numbers(lua_State *lua, int index, size_t *count)
{
    luaL_checktype(lua, index, LUA_TTABLE);
    *count = sandbox_length(lua, index);
    double *numbers = lua_newuserdatauv(lua, (*count + 1) * sizeof *numbers, 0);
    for (size_t i = 0; i < *count; i++) {
        if (lua_geti(lua, index, (lua_Integer)i + 1) != LUA_TNUMBER) /* to read strings takes long */
            luaL_error(lua, "stats: a list must hold numbers");
        numbers[i] = lua_tonumber(lua, -1);
        lua_pop(lua, 1);
    }
    sandbox_charge(lua, (int64_t)*count * 4);
    return numbers;
}

/* The lists at 1 and 2: two values of each of `count` specimens. */
static void read_pairs(lua_State *lua, const double **x, const double **y, size_t *count)
{
    size_t other;
    lua_settop(lua, 4); /* so that what is left out is nil, not a userdata of ours */
    *x = read_numbers(lua, 1, count);
    *y = read_numbers(lua, 2, &other);
    if (*count != other)
        luaL_error(lua, "stats: the two lists are not of the same length");
}

static int push_unless_nan(lua_State *lua, double number)
{
    if (isnan(number))
        return 0;
    lua_pushnumber(lua, number);
    return 1;
}

/* Two results, or none. */
static int push_two(lua_State *lua, double first, double second)
{
    if (isnan(first) || isnan(second))
        return 0;
    lua_pushnumber(lua, first);
    lua_pushnumber(lua, second);
    return 2;
}

/* ---- formulas: plain numbers in, one number out ---- */

static double cv(const double *x) { return cv_percent(x[0], x[1]); }
static double bias(const double *x) { return bias_percent(x[0], x[1]); }
static double chi_square(const double *x) { return chi_square_lower(x[0], x[1]); }
static double z(const double *x) { return z_score(x[0], x[1], x[2]); }
static double z_prime(const double *x) { return z_prime_score(x[0], x[1], x[2], x[3]); }
static double en(const double *x) { return en_score(x[0], x[1], x[2], x[3]); }
static double sigma(const double *x) { return sigma_metric(x[0], x[1], x[2]); }
static double shift(const double *x) { return critical_shift(x[0], x[1], x[2]); }
static double error(const double *x) { return total_error(x[0], x[1]); }
static double glucose(const double *x) { return estimated_average_glucose(x[0]); }
static double glucose_mmol(const double *x) { return estimated_average_glucose_mmol(x[0]); }

static const struct formula {
    const char *name;
    int arguments;
    double (*of)(const double *arguments);
    int cost;
} formulas[] = {
    {"cv_percent", 2, cv, COST_OF_FORMULA},
    {"bias_percent", 2, bias, COST_OF_FORMULA},
    {"chi_square_lower", 2, chi_square, COST_OF_TAIL},
    {"z_score", 3, z, COST_OF_FORMULA},
    {"z_prime_score", 4, z_prime, COST_OF_FORMULA},
    {"en_score", 4, en, COST_OF_FORMULA},
    {"sigma_metric", 3, sigma, COST_OF_FORMULA},
    {"critical_shift", 3, shift, COST_OF_FORMULA},
    {"total_error", 2, error, COST_OF_FORMULA},
    {"estimated_average_glucose", 1, glucose, COST_OF_FORMULA},
    {"estimated_average_glucose_mmol", 1, glucose_mmol, COST_OF_FORMULA},
};

static int api_formula(lua_State *lua)
{
    const struct formula *formula = lua_touserdata(lua, lua_upvalueindex(1));
    double arguments[4] = {0};
    sandbox_charge(lua, formula->cost);
    for (int i = 0; i < formula->arguments; i++)
        arguments[i] = sandbox_number(lua, i + 1);
    return push_unless_nan(lua, formula->of(arguments));
}

/* stats.convert(value, from, to, analyte) */
static int api_convert_unit(lua_State *lua)
{
    double value = sandbox_number(lua, 1);
    struct text from = text_of(luaL_checkstring(lua, 2)), to = text_of(luaL_checkstring(lua, 3));
    bool known = text_equal(from, to) || unit_pair_known(from, to, to_text(lua, 4));
    return known && unit_convert(from, to, value, &value) ? push_unless_nan(lua, value) : 0;
}

/* ---- one list ---- */

static int api_mean(lua_State *lua)
{
    size_t count;
    const double *numbers = read_numbers(lua, 1, &count);
    return push_unless_nan(lua, summary_of(numbers, count).mean);
}
static int api_sd(lua_State *lua)
{
    size_t count;
    const double *numbers = read_numbers(lua, 1, &count);
    return push_unless_nan(lua, summary_of(numbers, count).sd);
}
static int api_median(lua_State *lua)
{
    size_t count;
    const double *numbers = read_numbers(lua, 1, &count);
    sandbox_charge(lua, (int64_t)count * COST_OF_A_PAIR);
    return push_unless_nan(lua, median_of(numbers, count));
}
static int api_robust(lua_State *lua)
{
    size_t count;
    const double *numbers = read_numbers(lua, 1, &count);
    sandbox_charge(lua, (int64_t)count * ROBUST_STEPS * COST_OF_ROBUST_STEP);
    struct robust found = algorithm_a(numbers, count, ROBUST_STEPS);
    return push_two(lua, found.mean, found.sd);
}

/* ---- two lists ---- */

static int api_mann_whitney(lua_State *lua)
{
    size_t first, second;
    const double *a = read_numbers(lua, 1, &first), *b = read_numbers(lua, 2, &second);
    if (!first || !second)
        return 0;
    return push_unless_nan(lua, mann_whitney_normal(a, first, b, second).p);
}

/* stats.deming(xs, ys, lambda) */
static int api_deming(lua_State *lua)
{
    size_t count;
    const double *x, *y;
    read_pairs(lua, &x, &y, &count);
    struct line line = deming(x, y, count, sandbox_number_or(lua, 3, 1));
    return push_two(lua, line.slope, line.intercept);
}

static void set_number(lua_State *lua, const char *field, double number)
{
    if (isnan(number))
        return;
    lua_pushnumber(lua, number);
    lua_setfield(lua, -2, field);
}

static void set_interval(lua_State *lua, const char *field, struct interval interval)
{
    if (isnan(interval.low) && isnan(interval.high))
        return;
    lua_createtable(lua, 0, 2);
    set_number(lua, "low", interval.low);
    set_number(lua, "high", interval.high);
    lua_setfield(lua, -2, field);
}

/* stats.passing_bablok(xs, ys, confidence) */
static int api_passing_bablok(lua_State *lua)
{
    size_t count;
    const double *x, *y;
    read_pairs(lua, &x, &y, &count);
    double confidence = sandbox_number_or(lua, 3, 0.95);
    if (count > PASSING_BABLOK_MOST)
        return luaL_error(lua, "stats.passing_bablok: more than %d pairs", PASSING_BABLOK_MOST);
    sandbox_charge(lua, (int64_t)(count * count / 2) * COST_OF_A_PAIR);
    struct passing_bablok found = passing_bablok(x, y, count, confidence);
    if (isnan(found.line.slope))
        return 0;
    lua_createtable(lua, 0, 4);
    set_number(lua, "slope", found.line.slope);
    set_number(lua, "intercept", found.line.intercept);
    set_interval(lua, "slope_interval", found.slope);
    set_interval(lua, "intercept_interval", found.intercept);
    return 1;
}

/* stats.bland_altman(xs, ys, multiple, confidence) */
static int api_bland_altman(lua_State *lua)
{
    size_t count;
    const double *x, *y;
    read_pairs(lua, &x, &y, &count);
    double multiple = sandbox_number_or(lua, 3, 1.96), confidence = sandbox_number_or(lua, 4, 0.95);
    struct agreement found = bland_altman(x, y, count, multiple, confidence);
    if (isnan(found.sd))
        return 0;
    lua_createtable(lua, 0, 7);
    set_number(lua, "bias", found.bias);
    set_number(lua, "sd", found.sd);
    set_number(lua, "low", found.limits.low);
    set_number(lua, "high", found.limits.high);
    set_interval(lua, "bias_interval", found.bias_interval);
    set_interval(lua, "low_interval", found.low_interval);
    set_interval(lua, "high_interval", found.high_interval);
    return 1;
}

/* ---- counts ---- */

/* "count of total"; false: there is no such share. */
static bool read_share(lua_State *lua, uint64_t *count, uint64_t *total)
{
    lua_Integer part = sandbox_whole(lua, 1), whole = sandbox_whole(lua, 2);
    *count = (uint64_t)part;
    *total = (uint64_t)whole;
    return part >= 0 && part <= whole && whole > 0;
}

static int api_wilson(lua_State *lua)
{
    uint64_t count, total;
    double confidence = sandbox_number_or(lua, 3, 0.95);
    if (!read_share(lua, &count, &total))
        return 0;
    struct interval interval = wilson_interval_at(count, total, confidence);
    return push_two(lua, interval.low, interval.high);
}

static int api_clopper_pearson(lua_State *lua)
{
    uint64_t count, total;
    double confidence = sandbox_number_or(lua, 3, 0.95);
    if (!read_share(lua, &count, &total))
        return 0;
    sandbox_charge(lua, COST_OF_EXACT_INTERVAL);
    struct interval interval = clopper_pearson_interval(count, total, confidence);
    return push_two(lua, interval.low, interval.high);
}

/* stats.funnel_limits(share, total, tail) */
static int api_funnel_limits(lua_State *lua)
{
    double share = sandbox_number(lua, 1), tail = sandbox_number_or(lua, 3, 0.025);
    lua_Integer total = sandbox_whole(lua, 2);
    if (total <= 0)
        return 0;
    sandbox_charge(lua, COST_OF_FUNNEL);
    struct interval limits = funnel_limits(share, (uint64_t)total, tail);
    return push_two(lua, limits.low, limits.high);
}

/* stats.sample_size(total, share, confidence) */
static int api_sample_size(lua_State *lua)
{
    lua_Integer total = sandbox_whole(lua, 1);
    double share = sandbox_number(lua, 2), confidence = sandbox_number_or(lua, 3, 0.95);
    if (total <= 0 || total > TOTAL_MOST)
        return 0;
    uint64_t all = (uint64_t)total, bad = bad_records(all, share), most = all - bad;
    /* drawing with putting back takes more: so many steps at most */
    uint64_t endless = bad > 0 && bad < all ? discovery_sample_endless((double)bad / (double)all, confidence) : 0;
    sandbox_charge(lua, (int64_t)(endless < most ? endless : most));
    uint64_t sample = discovery_sample(all, bad, confidence);
    if (sample == 0)
        return 0;
    lua_pushinteger(lua, (lua_Integer)sample);
    return 1;
}

void stats_offer(struct sandbox *sandbox)
{
    static const luaL_Reg functions[] = {
        {"mean", api_mean},
        {"sd", api_sd},
        {"median", api_median},
        {"robust", api_robust},
        {"mann_whitney", api_mann_whitney},
        {"deming", api_deming},
        {"passing_bablok", api_passing_bablok},
        {"bland_altman", api_bland_altman},
        {"wilson", api_wilson},
        {"clopper_pearson", api_clopper_pearson},
        {"funnel_limits", api_funnel_limits},
        {"sample_size", api_sample_size},
        {"convert", api_convert_unit},
    };
    for (size_t i = 0; i < sizeof functions / sizeof *functions; i++)
        sandbox_offer_in(sandbox, "stats", functions[i].name, functions[i].func, NULL);
    for (size_t i = 0; i < sizeof formulas / sizeof *formulas; i++)
        sandbox_offer_in(sandbox, "stats", formulas[i].name, api_formula, (void *)(uintptr_t)&formulas[i]);
    multirule_offer(sandbox);
}
