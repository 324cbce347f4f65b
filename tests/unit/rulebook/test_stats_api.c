/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The stats library as rules call it. That the figures are right is shown in tests/unit/stats and tests/outside; here
 * published values go through Lua. */
#include <criterion/criterion.h>

#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

#include "rulebook/host.h"

/* What the chunk `source`, run as a rule's file is, returns as text; or the fault's text. */
static void run(const char *source, int64_t budget, char out[FAULT_TEXT_SIZE])
{
    AUTO(sandbox) sandbox = sandbox_new();
    lua_State *lua = sandbox_lua(sandbox);
    struct fault fault = {0};
    struct sandbox_program program;
    stats_offer(sandbox);
    cr_assert(sandbox_compile(sandbox, "test.lua", text_of(source), &program, &fault), "%s", fault.text);
    lua_rawgeti(lua, LUA_REGISTRYINDEX, program.chunk);
    sandbox_push_environment(lua);
    lua_setupvalue(lua, -2, 1);
    bool good = sandbox_call(sandbox, &program, 0, 1, budget, &fault);
    snprintf(out, FAULT_TEXT_SIZE, "%s", good ? luaL_tolstring(lua, -1, NULL) : fault.text);
}

struct row {
    const char *source, *expected;
};

static void expect_rows(const struct row *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char source[2048], out[FAULT_TEXT_SIZE];
        snprintf(
            source, sizeof source,
            "local function all(form, ...)\n"
            "  return string.format(form, ...)\n"
            "end\n"
            "local large = { 494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427 }\n"
            "local small = { 512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451 }\n"
            "local creosote = { 24.140, 20.155, 19.500, 20.300, 20.705, 17.570, 20.100, 20.940, 21.185 }\n"
            "return %s",
            rows[i].source);
        run(source, SANDBOX_SITE_BUDGET, out);
        cr_expect(strstr(out, rows[i].expected) != NULL, "%s: %s, not %s", rows[i].source, out, rows[i].expected);
    }
}

#define EXPECT(rows) expect_rows(rows, sizeof rows / sizeof *(rows))

/* Sources: Wilson and Clopper-Pearson, 15 of 148: Newcombe RG, Stat Med 1998;17:857-72, table I; 4 of 20, exact 90 %:
 * NIST/SEMATECH handbook 7.2.4.2; sample sizes: Cannon JG, Roe RM, Sampling tables (1982), from memory; the funnel by
 * hand (2 of 2 at 1/2, tail 1/8). */
Test(stats_api, shares_and_samples_of_published_tables)
{
    static const struct row rows[] = {
        {"all('%.4f %.4f', stats.wilson(15, 148))", "0.0624 0.1605"},
        {"all('%.4f %.4f', stats.wilson(4, 20, 0.9))", "0.0931 0.3784"},
        {"all('%.4f %.4f', stats.clopper_pearson(15, 148))", "0.0578 0.1617"},
        {"all('%.7f %.7f', stats.clopper_pearson(4, 20, 0.90))", "0.0713539 0.4010281"},
        {"all('%.4f %.4f', stats.funnel_limits(0.5, 2, 0.125))", "0.0000 0.7500"},
        {"stats.sample_size(100, 0.05)", "45"},
        {"stats.sample_size(500, 0.01, 0.95)", "225"},
        {"stats.sample_size(100000000, 0.01)", "299"},
        {"stats.sample_size(10, 1)", "1"},
    };
    EXPECT(rows);
}

/* Sources: Bland JM, Altman DG, Lancet 1986;i:307-10, table 1 (limits from memory, recomputed: see
 * tests/unit/stats/test_regression.c, as the two lines); Pearson K, Phil Mag 1901;2:559-72. */
Test(stats_api, two_methods_of_published_data)
{
    static const struct row rows[] = {
        {"(function() local a = stats.bland_altman(large, small, 2)\n"
         "return all('%.1f %.1f %.4f %.4f %.4f %.4f %.2f %.2f', a.bias, a.sd, a.low, a.high, a.bias_interval.low,\n"
         "a.bias_interval.high, a.low_interval.low, a.high_interval.high) end)()",
         "-2.1 38.8 -79.6479 75.4126 -22.0488 17.8135 -114.17 109.93"},
        {"all('%.3f', stats.bland_altman(large, small).high)", "73.862"},
        {"all('%.5f %.5f', stats.deming(large, small))", "0.97088 15.23156"},
        {"all('%.5f %.4f', stats.deming({ 0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4 },\n"
         "{ 5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5 }, 1))",
         "-0.54556 5.7840"},
        {"(function() local p = stats.passing_bablok(large, small, 0.95)\n"
         "return all('%.6f %.4f %.6f %.6f %.3f %.3f', p.slope, p.intercept, p.slope_interval.low,\n"
         "p.slope_interval.high, p.intercept_interval.low, p.intercept_interval.high) end)()",
         "1.064815 -24.3056 0.837079 1.396825 -178.032 82.938"},
        {"stats.passing_bablok({ 1, 2, 3 }, { 1, 2, 3 }).slope_interval", "nil"},
        {"all('%.2f', stats.mann_whitney({ 1, 2, 3 }, { 1, 2, 3 }))", "1.00"},
    };
    EXPECT(rows);
}

/* Sources: ISO 5725-5 creosote data (recomputed: tests/unit/stats/test_robust.c); sigma: the classic cholesterol
 * example, from memory; estimated average glucose: Nathan DM et al, Diabetes Care 2008;31:1473-8, table 2; HbA1c:
 * https://ngsp.org/ifcc.asp; the rest by hand. */
Test(stats_api, figures_of_published_examples)
{
    static const struct row rows[] = {
        {"all('%.5f %.5f', stats.robust(creosote))", "20.41214 1.06984"},
        {"all('%.1f %.1f', stats.robust { 5, 5, 5, 9 })", "5.0 0.0"},
        {"all('%.3f', stats.median(creosote))", "20.300"},
        {"all('%g', stats.sd { 1, 2, 3 })", "1"},
        {"all('%g', stats.sigma_metric(10, 2, 2))", "4"},
        {"all('%g', stats.critical_shift(10, -2, 2))", "2.35"},
        {"all('%g', stats.total_error(-1, 2))", "4.3"},
        {"all('%g', stats.cv_percent(0.2, 5))", "4"},
        {"all('%g', stats.bias_percent(5.2, 5))", "4"},
        {"all('%g', stats.z_score(6.1, 6.5, 0.2))", "-2"},
        {"all('%g', stats.z_prime_score(7, 6.5, 0.3, 0.4))", "1"},
        {"all('%g', stats.en_score(6.5, 7, 0.4, 0.3))", "-1"},
        {"all('%.0f %.1f', stats.estimated_average_glucose(7), stats.estimated_average_glucose_mmol(7))", "154 8.6"},
        {"all('%.3f %.0f', stats.convert(53, 'mmol/mol', '%'), stats.convert(7, '%', 'mmol/mol'))", "7.000 53"},
        {"all('%.1f', stats.convert(126, 'mg/dL', 'mmol/L', 'Glucose, capillary blood'))", "7.0"},
        {"stats.convert(5, '%', '%')", "5.0"},
    };
    EXPECT(rows);
}

Test(stats_api, what_has_no_answer_is_nil)
{
    static const struct row rows[] = {
        {"stats.mean {}", "nil"},
        {"stats.sd { 1 }", "nil"},
        {"stats.median {}", "nil"},
        {"stats.robust { 1 }", "nil"},
        {"stats.wilson(0, 0)", "nil"},
        {"stats.wilson(3, 2)", "nil"},
        {"stats.wilson(1, 2, 1)", "nil"},
        {"stats.clopper_pearson(-1, 2)", "nil"},
        {"stats.clopper_pearson(1, 100000001)", "nil"},
        {"stats.funnel_limits(1.1, 10)", "nil"},
        {"stats.funnel_limits(0.1, 0)", "nil"},
        {"stats.sample_size(0, 0.05)", "nil"},
        {"stats.sample_size(100, 0)", "nil"},
        {"stats.sample_size(math.tointeger(2^62), 1e-18)", "nil"},
        {"stats.deming({ 1, 2 }, { 5, 5 })", "nil"},
        {"stats.passing_bablok({ 1, 2 }, { 1, 2 })", "nil"},
        {"stats.bland_altman({ 1 }, { 1 })", "nil"},
        {"stats.sigma_metric(8, 1, 0)", "nil"},
        {"stats.z_score(1, 1, 0)", "nil"},
        {"stats.cv_percent(1, 0)", "nil"},
        {"stats.convert(5, 'mg/dL', 'mmol/L', 'Cholesterol')", "nil"},
        {"stats.convert(5, 'furlong', '%')", "nil"},
    };
    EXPECT(rows);
}

Test(stats_api, what_makes_no_sense_is_an_error)
{
    static const struct row rows[] = {
        {"stats.mean(5)", "table expected"},
        {"stats.mean { 'many' }", "a list must hold numbers"},
        {"stats.deming({ 1, 2 }, { 1, 2, 3 })", "not of the same length"},
        {"stats.bland_altman({ 1, 2 })", "table expected"},
        {"stats.wilson(1.5, 2)", "no integer representation"},
        {"stats.sigma_metric(8, 1)", "number expected"},
    };
    EXPECT(rows);
}

/* Work in C is paid for, so that no rule runs longer than its budget says. */
Test(stats_api, long_work_ends_at_the_budget)
{
    static const char *const sources[] = {
        "while true do stats.clopper_pearson(500, 1000) end",
        "while true do stats.funnel_limits(0.5, 1000) end",
        "return stats.sample_size(100000000, 1e-8)",
        "local t = {} for i = 1, 1000 do t[i] = i end return stats.passing_bablok(t, t)",
        "local t = {} for i = 1, 1000 do t[i] = i end return stats.robust(t)",
        "local t = {} for i = 1, 9000 do t[i] = i end return stats.median(t)",
    };
    for (size_t i = 0; i < sizeof sources / sizeof *sources; i++) {
        char out[FAULT_TEXT_SIZE];
        run(sources[i], SANDBOX_RUN_BUDGET, out);
        cr_expect(strstr(out, "budget") != NULL, "%s: %s", sources[i], out);
    }
    char out[FAULT_TEXT_SIZE];
    run("local t, u = {}, {} for i = 1, 900 do t[i] = i u[i] = i % 7 + i end return stats.passing_bablok(t, u).slope "
        "> 0",
        SANDBOX_SITE_BUDGET, out);
    cr_expect_str_eq(out, "true");
    run("local t = {} for i = 1, 2001 do t[i] = i end return stats.passing_bablok(t, t)", SANDBOX_SITE_BUDGET, out);
    cr_expect(strstr(out, "more than 2000 pairs") != NULL, "%s", out);
}
