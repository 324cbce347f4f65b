/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "findings/portrait.h"
#include "reports/pictures/control_chart.h"
#include "reports/pictures/control_plan.h"
#include "reports/pictures/control_text.h"
#include "reports/pictures/svg.h"

/* A series of October 2026 on M1, lot K1 with mean 100 and SD 5, in an audit of the site "quarry-lane". */
struct bench {
    struct arena *arena;
    struct portrait portrait;
    struct portrait_series series;
    struct audit *audit;
    struct finding findings[4];
    struct rule_at_site rule;
};

static const struct rule_text multirule = {.id = TEXT("controls.multirule")};
static const struct text site = TEXT("quarry-lane");

static struct portrait_lot_limits lot_limits(const char *lot, double mean, double sd)
{
    return (struct portrait_lot_limits){text_of(lot), true, true, true, mean, sd, mean - 2 * sd, mean + 2 * sd};
}

static struct bench *bench_new(size_t capacity)
{
    struct arena *arena = arena_new();
    struct bench *bench = arena_take(arena, sizeof *bench);
    *bench = (struct bench){.arena = arena, .audit = audit_new()};
    day_parse(TEXT("2026-10-01"), &bench->portrait.from, NULL);
    day_parse(TEXT("2026-10-31"), &bench->portrait.to, NULL);
    bench->series = (struct portrait_series){
        .analyzer = TEXT("M1"), .method = TEXT("meter"), .level = TEXT("low"), .unit = TEXT("mg/dL")};
    bench->series.controls = arena_take(arena, capacity * sizeof *bench->series.controls);
    bench->series.limits = arena_take(arena, 4 * sizeof *bench->series.limits);
    bench->series.limits[bench->series.limit_count++] = lot_limits("K1", 100, 5);
    bench->audit->findings = bench->findings;
    return bench;
}

static void bench_free(struct bench *bench)
{
    if (bench == NULL)
        return;
    audit_free(bench->audit);
    arena_free(bench->arena);
}
OWNER(bench);

/* At a minute of the month. */
static struct portrait_control *add(struct bench *bench, int minute, double number)
{
    struct portrait_control *control = &bench->series.controls[bench->series.control_count++];
    char at[MOMENT_TEXT_SIZE];
    *control = (struct portrait_control){
        .at = moment_make((int64_t)bench->portrait.from * 86400 + (int64_t)minute * 60, false),
        .result = text_print(bench->arena, "%g", number),
        .control_lot = TEXT("K1"),
        .lot = TEXT("G1"),
        .has_number = true,
        .has_z = true,
        .number = number,
        .z = (number - 100) / 5,
        .state = number < 90 || number > 110 ? CONTROL_FAILED : CONTROL_GOOD,
    };
    moment_print(control->at, at);
    control->performed_at = text_keep(bench->arena, text_of(at));
    return control;
}

static void add_finding(struct bench *bench, const char *level, const char *pattern, const char *from, const char *to)
{
    struct finding *finding = &bench->findings[bench->audit->finding_count++];
    *finding = (struct finding){.rule = &multirule, .site = site, .from = text_of(from), .to = text_of(to)};
    finding->subject[SUBJECT_ANALYZER] = TEXT("M1");
    finding->subject[SUBJECT_METHOD] = TEXT("meter");
    finding->subject[SUBJECT_LEVEL] = text_of(level);
    finding->subject[SUBJECT_DETAIL] = text_of(pattern);
}

static struct control_plan *plan_of(const struct bench *bench)
{
    return control_plan_new(bench->arena, &bench->portrait, &bench->series, bench->audit, site);
}

static const char *svg_of(const struct bench *bench)
{
    AUTO(output) output = output_memory();
    svg_inline(control_chart(bench->arena, &bench->portrait, &bench->series, bench->audit, site), 1, output);
    return text_string(bench->arena, output_taken(output));
}

static const char *text_chart_of(const struct bench *bench, bool utf8)
{
    AUTO(output) output = output_memory();
    control_text(plan_of(bench), utf8, output);
    return text_string(bench->arena, output_taken(output));
}

static size_t count_of(const char *page, const char *wanted)
{
    size_t count = 0;
    for (const char *at = page; (at = strstr(at, wanted)) != NULL; at += strlen(wanted))
        count++;
    return count;
}

/* Seven weeks' worth of what a chart can show. */
static struct bench *bench_full(void)
{
    struct bench *bench = bench_new(16);
    bench->series.limits[bench->series.limit_count++] = lot_limits("K2", 106, 5);
    add(bench, 480, 101);
    add(bench, 1920, 111);
    add(bench, 3360, 112);
    add(bench, 4800, 99)->lot = TEXT("G2");
    struct portrait_control *next = add(bench, 20000, 107);
    next->control_lot = TEXT("K2");
    next->lot = TEXT("G2");
    add_finding(bench, "low", "2-2s", "2026-10-03 08:00", "2026-10-03 08:00");
    return bench;
}

Test(control_chart, shows_limits_lots_states_and_patterns)
{
    AUTO(bench) bench = bench_full();
    const char *svg = svg_of(bench);
    static const char *const wanted[] = {
        "Controls of meter on M1, level low, October 2026</title>",
        "5 controls: 3 good, 2 failed. In mg/dL. Failed: 111 on 2026-10-02 08:00; 112 on 2026-10-03 08:00. "
        "Patterns: 2-2s on 2026-10-03 08:00. Control lot K1, mean 100, SD 5, low 90, high 110; then K2 from "
        "2026-10-14 21:20, mean 106, SD 5, low 96, high 116. Reagent lot G1; then G2 from 2026-10-04 08:00.</desc>",
        ">control lot K1</text>",
        ">K2</text>",
        ">G1</text>",
        ">reagent</text>",
        ">mean</text>",
        ">+3 SD</text>",
        ">mg/dL</text>",
        "font-weight=\"600\">2-2s</text>",
        ">3 good</text>",
        ">2 failed</text>",
        ">1 in a pattern</text>",
    };
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        cr_expect_not_null(strstr(svg, wanted[i]), "%s in %s", wanted[i], svg);
    cr_expect_eq(count_of(svg, "<polygon"), 3, "two failed ones and one in the key");
    cr_expect_str_eq(svg, svg_of(bench), "the same again");
}

Test(control_chart, marks_only_the_controls_that_a_finding_covers)
{
    static const struct {
        const char *level, *from, *to;
        size_t covered;
    } cases[] = {
        {"low", "2026-10-02 08:00", "2026-10-03 08:00", 2},
        {"low", "2026-10-02 08:01", "2026-10-03 07:59", 0},
        {"high", "2026-10-02 08:00", "2026-10-03 08:00", 0},
        {NULL, "2026-10-02 09:00", "2026-10-03 09:00", 2}, /* across levels: its days count */
        {"low", "2026-10-02", "2026-10-03", 0},
        {"low", NULL, NULL, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        AUTO(bench) bench = bench_full();
        bench->audit->finding_count = 0;
        add_finding(bench, cases[i].level, "2-2s", cases[i].from, cases[i].to);
        cr_expect_eq(plan_of(bench)->covered, cases[i].covered, "case %zu", i);
        bench->findings[0].site = TEXT("elsewhere");
        cr_expect_eq(plan_of(bench)->covered, 0, "case %zu at another site", i);
    }
}

Test(control_chart, says_why_patterns_are_not_marked)
{
    AUTO(bench) bench = bench_full();
    bench->rule = (struct rule_at_site){.rule = &multirule, .site = site, .state = RULE_OFF, .why = TEXT("on paper")};
    bench->audit->rules = &bench->rule;
    bench->audit->rule_count = 1;
    cr_expect_not_null(strstr(svg_of(bench), ">Patterns were not looked for: on paper</text>"));
}

Test(control_chart, takes_standard_deviations_where_lots_lie_far_apart)
{
    AUTO(bench) bench = bench_full();
    cr_expect_not(plan_of(bench)->uses_z);
    bench->series.limits[1] = lot_limits("K2", 160, 5);
    struct control_plan *plan = plan_of(bench);
    cr_expect(plan->uses_z);
    cr_expect_eq(plan->points[0].value, .2);
    cr_expect_eq(plan_mean(plan, &bench->series.limits[1], 0), 0);
    cr_expect_eq(plan_limit(plan, &bench->series.limits[1], true), 2);
    cr_expect_not_null(strstr(svg_of(bench), ">SD</text>"));
}

Test(control_chart, a_value_far_beyond_the_scale_lies_on_its_edge_and_is_named)
{
    AUTO(bench) bench = bench_full();
    add(bench, 30000, 900);
    struct control_plan *plan = plan_of(bench);
    cr_expect_lt(plan->high, 140, "the others are not squeezed flat");
    cr_expect_not_null(strstr(svg_of(bench), ">↑ 900</text>"));
}

Test(control_chart, words_have_a_lane_each)
{
    AUTO(bench) bench = bench_new(4);
    bench->series.limit_count = 0;
    for (int i = 0; i < 3; i++) {
        struct portrait_control *control = add(bench, 480 + i * 1440, 0);
        control->has_number = control->has_z = false;
        control->result = i == 1 ? TEXT("negative") : TEXT("positive");
        control->state = i == 1 ? CONTROL_FAILED : CONTROL_GOOD;
    }
    cr_expect_not(plan_of(bench)->has_values);
    const char *svg = svg_of(bench);
    static const char *const wanted[] = {">good</text>", ">failed</text>", ">negative</text>", ">2 good</text>"};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        cr_expect_not_null(strstr(svg, wanted[i]), "%s", wanted[i]);
    const char *text = text_chart_of(bench, false);
    cr_expect_not_null(strstr(text, "good\n"));
    cr_expect_not_null(strstr(text, "X 1 failed"));
}

Test(control_chart, nothing_one_point_and_no_numbers_are_drawn_too)
{
    AUTO(bench) bench = bench_new(4);
    cr_expect_not_null(strstr(svg_of(bench), ">There are no controls in this period.</text>"));
    cr_expect_not_null(strstr(text_chart_of(bench, false), "There are no controls in this period."));
    add(bench, 480, 101);
    cr_expect_eq(count_of(svg_of(bench), "<circle"), 2, "the point and the key's");
    bench->series.limit_count = 0;
    cr_expect_eq(count_of(svg_of(bench), "<circle"), 2, "without limits");
    add(bench, 500, NAN);
    add(bench, 520, INFINITY);
    const char *svg = svg_of(bench);
    cr_expect_null(strstr(svg, "nan"));
    cr_expect_null(strstr(svg, "inf\""));
    cr_expect_not_null(strstr(svg, ">Not drawn: 2 controls without a number</text>"));
    bench->series.limits[bench->series.limit_count++] = lot_limits("K1", NAN, NAN);
    cr_expect_null(strstr(svg_of(bench), "nan\""));
}

Test(control_chart, ten_thousand_points_are_thinned_and_it_says_so)
{
    AUTO(bench) bench = bench_new(10000);
    for (int i = 0; i < 10000; i++)
        add(bench, i * 4, 100 + (i * 7919 % 241 - 120) / 12.0);
    add_finding(bench, "low", "10x", "2026-10-10 00:00", "2026-10-12 00:00");
    bench->series.controls[5000].number = 130;
    struct control_plan *plan = plan_of(bench);
    size_t drawn = plan->count - plan->left_out;
    cr_expect_lt(drawn, 1200, "%zu", drawn);
    cr_expect_gt(drawn, 240, "%zu", drawn);
    cr_expect_not(plan->points[5000].left_out, "the highest stays");
    const char *svg = svg_of(bench);
    cr_expect_not_null(strstr(svg, ">10,000 controls: where they crowd, only the lowest and highest are drawn</text>"));
    cr_expect_lt(strlen(svg), 150000);
}

Test(control_chart, what_records_say_cannot_become_markup_or_steer_a_terminal)
{
    AUTO(bench) bench = bench_new(4);
    struct text hostile = TEXT("<script>\x1b[2J\"");
    bench->series.analyzer = bench->series.unit = bench->series.level = hostile;
    struct portrait_control *control = add(bench, 480, 900);
    control->control_lot = control->lot = control->result = control->performed_at = hostile;
    const char *svg = svg_of(bench), *text = text_chart_of(bench, true);
    cr_expect_null(strstr(svg, "<script"));
    cr_expect_null(strchr(svg, '\x1b'));
    cr_expect_null(strchr(text, '\x1b'));
}

Test(control_chart, in_a_terminal_it_is_eighty_columns_wide_and_says_the_same)
{
    AUTO(bench) bench = bench_full();
    const char *text = text_chart_of(bench, false);
    static const char *const wanted[] = {
        "Controls of meter on M1, level low, October 2026\n",
        " pattern     2-2s\n",
        " mean\n",
        " +3 SD\n",
        " control K1",
        "|K2\n",
        " reagent G1    |G2\n",
        "o 3 good   X 2 failed   @# 1 in a pattern\n",
    };
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        cr_expect_not_null(strstr(text, wanted[i]), "%s in\n%s", wanted[i], text);
    for (const char *line = text; *line != '\0'; line += strcspn(line, "\n") + 1) {
        cr_expect_leq(strcspn(line, "\n"), 80, "%s", line);
        cr_expect_neq(line[strcspn(line, "\n") - 1], ' ', "blanks at the end of %s", line);
    }
    for (const char *at = text; *at != '\0'; at++)
        cr_expect_geq(*at, '\n', "ASCII");
    cr_expect_not_null(strstr(text_chart_of(bench, true), "●"));
}
