/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pictures of a site: calendar, trend, people, lots. */
#include <stdio.h>
#include <string.h>

#include "../findings/bench.h"
#include "reports/pictures/calendar.h"
#include "reports/pictures/lots.h"
#include "reports/pictures/people.h"
#include "reports/pictures/svg.h"
#include "reports/pictures/trend.h"

static const char site[] = "site: mill\nname: Mill\nopen_days: [mon, tue, wed, thu, fri]\nclosed_on: [2026-10-12]\n";
static const char meter[] = "method: meter\nanalyte: Glucose\nwaived: true\nunit: \"mg/dL\"\n"
                            "reportable: {low: 20, high: 600}\ncontrols:\n  levels: [low, high]\n  when:\n"
                            "    - {each: day}\ncleaning: {daily: true}\n";
static const char analyzers[] = "analyzer,method,in_service_on\nM1,meter,2024-01-01\n";

/* ---- looking at a drawing ---- */

static double left_of(const struct shape *text)
{
    return text->points->x - drawing_text_width(text->text, text->size) * (double)text->anchor / 2;
}

/* All of it lies on its sheet; a stroke may reach over the edge by its half. */
static void expect_within(const struct drawing *drawing)
{
    for (const struct shape *shape = drawing->first; shape; shape = shape->next) {
        size_t places = shape->kind == SHAPE_BOX || shape->kind == SHAPE_DISC ? 1 : shape->point_count;
        for (size_t i = 0; i < places; i++) {
            struct point at = shape->points[i];
            cr_expect(at.x >= -1 && at.x <= drawing->width + 1 && at.y >= -1 && at.y <= drawing->height + 1,
                      "%.*s: kind %d at %g, %g", TEXT_FORMAT(drawing->title), shape->kind, at.x, at.y);
        }
        if (shape->kind != SHAPE_TEXT)
            continue;
        double left = left_of(shape), right = left + drawing_text_width(shape->text, shape->size);
        cr_expect(left >= -1 && right <= drawing->width + 1, "%.*s: %.*s lies at %g to %g", TEXT_FORMAT(drawing->title),
                  TEXT_FORMAT(shape->text), left, right);
    }
}

static bool says(const struct drawing *drawing, const char *words)
{
    for (const struct shape *shape = drawing->first; shape; shape = shape->next)
        if (shape->kind == SHAPE_TEXT && text_is(shape->text, words))
            return true;
    return false;
}

#define EXPECT_SAYS(drawing, words) cr_expect(says((drawing), (words)), "it does not say: %s", (words))

static bool holds(struct text text, const char *words)
{
    AUTO(arena) arena = arena_new();
    return strstr(text_string(arena, text), words) != NULL;
}

#define EXPECT_DESCRIBED(drawing, words) \
    cr_expect(holds((drawing)->description, (words)), "%.*s", TEXT_FORMAT((drawing)->description))

static struct text svg_of(struct arena *arena, const struct drawing *drawing)
{
    AUTO(output) output = output_memory();
    svg_file(drawing, output);
    return text_keep(arena, output_taken(output));
}

/* ---- calendar ---- */

Test(site_pictures, a_day_lacks_what_its_method_asks_for)
{
    static const struct {
        uint32_t tests, good, failed, unjudged, levels, cleanings;
        const char *controls, *cleaning;
    } rows[] = {
        {5, 2, 0, 0, 2, 1, NULL, NULL},          {5, 2, 1, 0, 2, 1, NULL, NULL}, /* repeated, and good */
        {0, 0, 0, 0, 0, 0, NULL, NULL},                                          /* nothing was run */
        {5, 0, 0, 0, 0, 1, "no control", NULL},  {5, 1, 0, 0, 1, 1, "1 of 2 levels", NULL},
        {5, 1, 1, 0, 1, 1, "failed", NULL},      {5, 0, 0, 2, 0, 1, "not judged", NULL},
        {5, 2, 0, 0, 2, 0, NULL, "not cleaned"},
    };
    AUTO(arena) arena = arena_new();
    struct portrait_analyzer analyzer = {
        .cleaned_daily = true, .controls = true, .controls_daily = true, .level_count = 2};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct portrait_day day = {.tests = rows[i].tests,
                                   .controls_good = rows[i].good,
                                   .controls_failed = rows[i].failed,
                                   .controls_unjudged = rows[i].unjudged,
                                   .levels_good = rows[i].levels,
                                   .cleanings = rows[i].cleanings};
        struct day_lacks lacks = day_lacks(arena, &analyzer, &day);
        cr_expect(text_equal(lacks.controls, text_of(rows[i].controls)), "row %zu: %.*s", i,
                  TEXT_FORMAT(lacks.controls));
        cr_expect(text_equal(lacks.cleaning, text_of(rows[i].cleaning)), "row %zu", i);
    }
    analyzer.controls_daily = analyzer.cleaned_daily = false;
    struct portrait_day bare = {.tests = 5}, failed = {.tests = 5, .controls_failed = 1};
    cr_expect_null(day_lacks(arena, &analyzer, &bare).controls.data, "no clause asks for controls each day");
    cr_expect_null(day_lacks(arena, &analyzer, &bare).cleaning.data);
    cr_expect(text_is(day_lacks(arena, &analyzer, &failed).controls, "failed"));
}

static void fill_days(struct bench *bench)
{
    bench_open(bench, site, meter, "2026-10-31");
    bench_log(bench, KIND_ANALYZERS, analyzers);
    bench_log(bench, KIND_TESTS,
              "test,performed_at,analyzer,operator,specimen,lot,result\nT1,2026-10-05 09:00,M1,kim,S1,R1,90\n"
              "T2,2026-10-05 10:00,M1,kim,S2,R1,90\nT3,2026-10-10 10:00,M1,kim,S3,R1,90\n");
    bench_log(bench, KIND_CLEANING, "cleaned_at,analyzer,task,operator\n2026-10-05 17:00,M1,daily,kim\n");
}

Test(site_pictures, a_month_is_a_calendar_that_says_what_is_missing)
{
    BENCH bench;
    fill_days(&bench);
    const struct portrait *portrait = bench_portrait(&bench, "2026-10-01", "2026-10-31");
    struct drawing *drawing = calendar_picture(bench.arena, portrait, &portrait->analyzers[0]);
    expect_within(drawing);
    EXPECT_SAYS(drawing, "Mon");
    EXPECT_SAYS(drawing, "2 tests");
    EXPECT_SAYS(drawing, "no control");
    EXPECT_SAYS(drawing, "not cleaned");
    EXPECT_SAYS(drawing, "closed");
    EXPECT_DESCRIBED(drawing, "October 2026: tests on 2 days, the site was open on 21.");
    EXPECT_DESCRIBED(drawing, "Missing: 2026-10-05 no control; 2026-10-10 no control and not cleaned.");
}

Test(site_pictures, a_long_period_is_a_strip_a_month)
{
    static const struct {
        const char *from;
        bool strip;
        const char *named;
    } rows[] = {{"2026-09-20", false, "1 Oct"}, {"2026-09-19", true, "Sep 2026"}, {"2020-01-01", true, "Dec 2022"}};
    BENCH bench;
    fill_days(&bench);
    history_ready(bench.history);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct portrait *portrait =
            portrait_new(bench.history, day_of(rows[i].from), day_of("2026-10-31"), bench.arena);
        struct drawing *drawing = calendar_picture(bench.arena, portrait, &portrait->analyzers[0]);
        expect_within(drawing);
        EXPECT_SAYS(drawing, rows[i].named);
        cr_expect_eq(says(drawing, "Mon"), !rows[i].strip, "%s", rows[i].from);
        cr_expect_eq(says(drawing, "Later months are left out here; the findings name their days."), i == 2);
    }
}

/* ---- trend ---- */

Test(site_pictures, the_trend_says_shares_and_gaps)
{
    AUTO(arena) arena = arena_new();
    struct portrait portrait = {.to = day_of("2026-10-31")};
    for (int i = 0; i < PORTRAIT_MONTHS; i++)
        portrait.months[i].from = day_add_months(day_of("2025-11-01"), i);
    cr_expect_not(trend_tells(&portrait));
    expect_within(trend_picture(arena, &portrait));
    portrait.months[11] = (struct audit_month){portrait.months[11].from, true, 400, 360};
    cr_expect_not(trend_tells(&portrait));
    portrait.months[9] = (struct audit_month){portrait.months[9].from, true, 12345, 11000};
    portrait.months[8] = (struct audit_month){portrait.months[8].from, true, 0, 0};
    portrait.months[2] = (struct audit_month){portrait.months[2].from, true, 10, 1};
    cr_expect(trend_tells(&portrait));
    struct drawing *drawing = trend_picture(arena, &portrait);
    expect_within(drawing);
    EXPECT_SAYS(drawing, "90.0 %");
    EXPECT_SAYS(drawing, "10.0 %");
    EXPECT_SAYS(drawing, "not audited");
    EXPECT_SAYS(drawing, "–");
    EXPECT_SAYS(drawing, "12k");
    EXPECT_DESCRIBED(drawing, "2026-10: 90.0 % of 400 tests (95 % interval 86.6 to 92.6 %).");
    EXPECT_DESCRIBED(drawing, "2026-07: no tests.");
    EXPECT_DESCRIBED(drawing, "8 of 12 months were not audited.");
}

/* ---- people ---- */

static const struct portrait *portrait_of(struct bench *bench)
{
    struct portrait *portrait = bench_portrait(bench, "2026-10-01", "2026-10-31");
    for (size_t i = 0; i < portrait->operator_count; i++) {
        struct portrait_operator *operator_ = &portrait->operators[i];
        for (size_t t = 0; t < operator_->training_count; t++)
            operator_->trainings[t].good_until =
                portrait_good_until(bench->history, operator_->operator_, &operator_->trainings[t], 12, 12);
    }
    return portrait;
}

Test(site_pictures, people_say_how_they_stand)
{
    BENCH bench;
    bench_open(&bench, site, meter, "2026-10-31");
    bench_log(&bench, KIND_OPERATORS,
              "operator,name,started_on,left_on\nann,,2024-01-01,\nben,Ben B.,2024-01-01,\ncho,,2024-01-01,\n"
              "dee,,2024-01-01,\neve,,2024-01-01,2026-10-09\nfay,,2024-01-01,\ngus,,2024-01-01,\n");
    bench_log(&bench, KIND_TRAINING,
              "operator,method,event,held_on,assessor,outcome\nann,meter,initial,2026-01-10,ben,pass\n"
              "ben,meter,competency,2025-10-09,ann,pass\nben,meter,competency,2026-10-15,ann,pass\n"
              "cho,meter,competency,2025-10-01,ann,pass\ndee,meter,initial,2026-09-01,ann,pass\n"
              "dee,meter,retraining,2026-10-20,ann,fail\neve,meter,initial,2026-01-10,ann,pass\n"
              "fay,meter,competency,2025-12-01,ann,pass\n");
    bench_log(&bench, KIND_TESTS,
              "test,performed_at,analyzer,operator,specimen,lot,result\nT1,2026-10-05 09:00,M1,gus,S1,R1,90\n");
    struct drawing *drawing = people_picture(bench.arena, portrait_of(&bench));
    static const char *const wanted[] = {
        "good to 2027-01-10", "ben Ben B.",          "out 10-10 to 10-14", "ran out 2026-10-01", "failed 2026-10-20",
        "left 2026-10-09",    "runs out 2026-12-01", "no training",        "as of 2026-10-31",
    };
    expect_within(drawing);
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        EXPECT_SAYS(drawing, wanted[i]);
    EXPECT_DESCRIBED(drawing, "7 persons and methods, a row each; 5 need something.");
    EXPECT_DESCRIBED(drawing, "cho, meter: ran out 2026-10-01.");
}

Test(site_pictures, of_many_people_those_in_need_are_kept)
{
    BENCH bench;
    bench_open(&bench, site, meter, "2026-10-31");
    for (int i = 0; i < 30; i++) {
        bool over = i == 29;
        bench_log(&bench, KIND_OPERATORS, text_print(bench.arena, "operator,started_on\nop-%02d,2024-01-01\n", i).data);
        bench_log(&bench, KIND_TRAINING,
                  text_print(bench.arena,
                             "operator,method,event,held_on,assessor,outcome\nop-%02d,meter,initial,%s,op-00,pass\n", i,
                             over ? "2025-01-10" : "2026-10-01")
                      .data);
    }
    struct drawing *drawing = people_picture(bench.arena, portrait_of(&bench));
    expect_within(drawing);
    EXPECT_SAYS(drawing, "op-29");
    EXPECT_SAYS(drawing, "op-24");
    cr_expect_not(says(drawing, "op-25"));
    EXPECT_SAYS(drawing, "4 more rows, with more time left, are left out; see records/training.csv.");
}

/* ---- lots ---- */

static const char lots_head[] = "lot,method,use,level,code,received_on,expires_on,discarded_on\n";

Test(site_pictures, lots_say_when_they_end_and_what_was_used_past_it)
{
    BENCH bench;
    bench_open(&bench, site, meter, "2026-10-31");
    bench_log(&bench, KIND_ANALYZERS, analyzers);
    bench_log(
        &bench, KIND_LOTS,
        text_print(bench.arena,
                   "%sR1,meter,reagent,,307,2026-08-01,2026-10-04,2026-10-07\n"
                   "R2,meter,reagent,,455,2026-09-01,2027-03-31,\n"
                   "R3,meter,reagent,,456,2026-09-01,2027-03-31,2026-10-20\n"
                   "C1,meter,control,low,,2026-08-01,2027-01-31,\nC1,meter,control,high,,2026-08-01,2027-01-31,\n",
                   lots_head)
            .data);
    bench_log(&bench, KIND_CODES,
              "changed_at,analyzer,code,operator\n2026-06-01 08:00,M1,201,kim\n2026-10-06 08:00,M1,455,kim\n");
    bench_log(&bench, KIND_TESTS,
              "test,performed_at,analyzer,operator,specimen,lot,result\nT1,2026-10-05 09:00,M1,kim,S1,R1,90\n");
    struct drawing *drawing = lots_picture(bench.arena, bench_portrait(&bench, "2026-10-01", "2026-10-31"));
    static const char *const wanted[] = {"meter, reagents",
                                         "meter, controls",
                                         "used past 2026-10-04",
                                         "discarded 2026-10-07",
                                         "expires 2027-03-31",
                                         "discarded 2026-10-20",
                                         "code 455",
                                         "Code in the analyzer",
                                         "201",
                                         "now 455"};
    expect_within(drawing);
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        EXPECT_SAYS(drawing, wanted[i]);
    EXPECT_DESCRIBED(drawing, "4 lots.");
    EXPECT_DESCRIBED(drawing, "R1: in 2026-08-01, good to 2026-10-04, used 2026-10-05 to 2026-10-05, past its last");
    EXPECT_DESCRIBED(drawing, "Used past the last good day: 1.");
}

Test(site_pictures, of_many_lots_those_in_use_are_kept)
{
    BENCH bench;
    bench_open(&bench, site, meter, "2026-10-31");
    for (int i = 0; i < 100; i++)
        bench_log(&bench, KIND_LOTS,
                  text_print(bench.arena, "%sR-%02d,meter,reagent,,,2026-08-01,2027-03-31,\n", lots_head, i).data);
    bench_log(&bench, KIND_TESTS,
              "test,performed_at,analyzer,operator,specimen,lot,result\nT1,2026-10-05 09:00,M1,kim,S1,R-99,90\n");
    bench_log(&bench, KIND_ANALYZERS, analyzers);
    struct drawing *drawing = lots_picture(bench.arena, bench_portrait(&bench, "2026-10-01", "2026-10-31"));
    expect_within(drawing);
    EXPECT_SAYS(drawing, "R-99");
    EXPECT_SAYS(drawing, "R-28");
    cr_expect_not(says(drawing, "R-29"));
    EXPECT_SAYS(drawing, "70 more lots, the least used, are left out; see records/lots.csv.");
    EXPECT_DESCRIBED(drawing, "100 lots.");
}

/* ---- all of them ---- */

static void draw_all(struct arena *arena, const struct portrait *portrait, struct drawing *out[4])
{
    out[0] = people_picture(arena, portrait);
    out[1] = lots_picture(arena, portrait);
    out[2] = trend_picture(arena, portrait);
    out[3] = portrait->analyzer_count ? calendar_picture(arena, portrait, &portrait->analyzers[0]) : NULL;
}

Test(site_pictures, an_empty_site_has_pictures_that_say_so)
{
    BENCH bench;
    struct drawing *drawings[4];
    bench_open(&bench, site, NULL, "2026-10-31");
    draw_all(bench.arena, bench_portrait(&bench, "2026-10-01", "2026-10-31"), drawings);
    for (size_t i = 0; i < 3; i++)
        expect_within(drawings[i]);
    EXPECT_SAYS(drawings[0], "There is no training on the log.");
    EXPECT_SAYS(drawings[1], "There is no lot on the log for this period.");
    EXPECT_SAYS(drawings[2], "not audited");
}

/* The longest ids, markup, letters of all widths and directions. */
Test(site_pictures, hostile_names_stay_on_the_sheet_and_are_no_markup)
{
    static const char *const ids[] = {"<script>alert(1)</script>&", "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW",
                                      "試薬ロット試薬ロット試薬ロット試薬ロット試薬ロット", "]]><!--שלום-->"};
    for (size_t i = 0; i < sizeof ids / sizeof *ids; i++) {
        BENCH bench;
        struct drawing *drawings[4];
        const char *id = ids[i];
        bench_open(&bench, site, meter, "2026-10-31");
        struct arena *arena = bench.arena;
        bench_log(&bench, KIND_ANALYZERS,
                  text_print(arena, "analyzer,method,in_service_on\n%s,%s,2024-01-01\n", id, id).data);
        bench_log(&bench, KIND_LOTS,
                  text_print(arena, "%s%s,%s,reagent,,%s,2026-08-01,2026-10-04,\n", lots_head, id, id, id).data);
        bench_log(&bench, KIND_CODES,
                  text_print(arena, "changed_at,analyzer,code,operator\n2026-10-06 08:00,%s,%s,kim\n", id, id).data);
        bench_log(&bench, KIND_OPERATORS,
                  text_print(arena, "operator,name,started_on\n%s,%s,2024-01-01\n", id, id).data);
        bench_log(&bench, KIND_TRAINING,
                  text_print(arena,
                             "operator,method,event,held_on,assessor,outcome\n%s,%s,initial,2025-01-10,%s,pass\n", id,
                             id, id)
                      .data);
        bench_log(
            &bench, KIND_TESTS,
            text_print(arena,
                       "test,performed_at,analyzer,operator,specimen,lot,result\nT1,2026-10-05 09:00,%s,%s,S1,%s,90\n",
                       id, id, id)
                .data);
        draw_all(arena, portrait_of(&bench), drawings);
        for (size_t d = 0; d < 4; d++) {
            expect_within(drawings[d]);
            struct text svg = svg_of(arena, drawings[d]);
            cr_expect_not(holds(svg, "<script") || holds(svg, "<!--") || holds(svg, "]]>"), "%s", id);
        }
    }
}

Test(site_pictures, the_same_portrait_gives_the_same_bytes)
{
    BENCH bench;
    struct drawing *first[4], *second[4];
    fill_days(&bench);
    const struct portrait *portrait = portrait_of(&bench);
    draw_all(bench.arena, portrait, first);
    draw_all(bench.arena, portrait, second);
    for (size_t i = 0; i < 4; i++)
        cr_expect(text_equal(svg_of(bench.arena, first[i]), svg_of(bench.arena, second[i])));
}
