/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench.h"

static const char site[] = "site: mill\nname: Mill\ndirector: Dr F.\n"
                           "certificate: {number: 99D1, kind: waiver, issued_on: 2025-12-01, expires_on: 2027-11-30}\n"
                           "open_days: [mon, tue, wed, thu, fri]\nclosed_on: [2026-10-12]\nmenu: [meter, cassette]\n";
static const char meter[] =
    "method: meter\nanalyte: Glucose\nwaived: true\nunit: \"mg/dL\"\nreportable: {low: 20, high: 600}\n"
    "controls:\n  levels: [low, high]\n  when:\n    - {each: day}\ncleaning: {daily: true}\n";

static void fill(struct bench *bench)
{
    bench_log(bench, KIND_ANALYZERS,
              "analyzer,method,in_service_on,retired_on\nM2,meter,2025-01-01,\nM1,meter,2024-01-01,\n"
              "M0,meter,2020-01-01,2026-09-30\n");
    bench_log(bench, KIND_OPERATORS,
              "operator,name,role,started_on,left_on\nkim,Kim,nurse,2024-01-01,\nann,,,2024-01-01,\n"
              "lee,,,2024-01-01,2026-09-30\nnew,,,2026-11-01,\n");
    bench_log(bench, KIND_TRAINING,
              "operator,method,event,held_on,assessor,outcome\nkim,meter,competency,2026-03-01,ann,pass\n"
              "kim,meter,initial,2025-03-31,ann,pass\nkim,meter,competency,2026-10-20,ann,fail\n"
              "kim,cassette,initial,2026-01-02,ann,pass\nkim,meter,retraining,2026-11-20,ann,pass\n");
    bench_log(bench, KIND_LOTS,
              "lot,method,use,level,mean,sd,low,high,received_on,expires_on,discarded_on\n"
              "C1,meter,control,low,50,2,,,2026-01-01,2026-12-31,\nC1,meter,control,high,,,280,320,2026-01-01,"
              "2026-12-31,\nR2,meter,reagent,,,,,,2026-09-01,2027-09-01,\nR1,meter,reagent,,,,,,2025-09-01,"
              "2026-09-30,\nR0,meter,reagent,,,,,,2024-09-01,2026-12-31,2026-08-01\n");
    bench_log(bench, KIND_OPENINGS, "opened_on,lot\n2026-10-05,R2\n2026-09-05,R2\n");
    bench_log(bench, KIND_CODES, "changed_at,analyzer,code,operator\n2026-10-06 08:00,M1,455,kim\n");
    bench_log(bench, KIND_CLEANING,
              "cleaned_at,analyzer,task,operator\n2026-10-05 17:00,M1,daily,kim\n2026-10-05 17:00,M1,weekly,kim\n");
    bench_log(bench, KIND_ACTIONS,
              "action,opened_on,problem,owner,closed_on\nCA-2,2026-10-06,b,kim,2026-10-07\nCA-1,2026-10-06,a,kim,"
              "2026-11-20\n");
    bench_log(bench, KIND_TESTS,
              "test,performed_at,analyzer,operator,specimen,lot,result,unit\n"
              "T0,2026-09-30 09:00,M1,kim,S0,R1,90,mg/dL\nT1,2026-10-05 09:00,M1,kim,S1,R2,90,mg/dL\n"
              "T2,2026-10-05 10:00,M1,ann,S2,R2,91,mg/dL\nT3,2026-10-06 10:00,M1,kim,S3,R1,91,mg/dL\n"
              "T4,2026-11-02 10:00,M1,kim,S4,R2,91,mg/dL\n");
    bench_log(bench, KIND_CONTROLS,
              "performed_at,analyzer,operator,control_lot,level,lot,result\n2026-10-05 08:00,M1,kim,C1,low,R2,53\n"
              "2026-10-05 08:01,M1,kim,C1,high,R2,300\n2026-10-06 08:00,M1,kim,C1,low,R2,55\n"
              "2026-10-06 08:01,M1,kim,C9,high,R2,300\n2026-10-06 08:02,M1,kim,C1,high,R2,321\n");
}

static const struct portrait *october(struct bench *bench)
{
    bench_open(bench, site, meter, "2026-10-31");
    fill(bench);
    return bench_portrait(bench, "2026-10-01", "2026-10-31");
}

#define EXPECT_SAME(found, wanted) cr_expect(text_is((found), (wanted)), "%.*s is not %s", TEXT_FORMAT(found), (wanted))

Test(portrait, each_day_of_an_analyzer_says_what_was_run_and_done)
{
    BENCH bench;
    const struct portrait *portrait = october(&bench);
    cr_assert_eq(portrait->day_count, 31);
    cr_assert_eq(portrait->analyzer_count, 2, "M0 was retired before the period");
    const struct portrait_analyzer *m1 = &portrait->analyzers[0];
    EXPECT_SAME(m1->analyzer, "M1");
    EXPECT_SAME(m1->method, "meter");
    cr_expect(m1->controls && m1->controls_daily && m1->cleaned_daily);
    cr_expect_eq(m1->level_count, 2);
    const struct portrait_day *fifth = &m1->days[4], *sixth = &m1->days[5], *twelfth = &m1->days[11];
    cr_expect_eq(fifth->tests, 2);
    cr_expect_eq(fifth->controls_good, 2);
    cr_expect_eq(fifth->levels_good, 2);
    cr_expect_eq(fifth->cleanings, 1, "weekly cleaning is another task");
    cr_expect(fifth->is_open);
    cr_expect_eq(sixth->controls_good, 0);
    cr_expect_eq(sixth->controls_failed, 2);
    cr_expect_eq(sixth->controls_unjudged, 1);
    cr_expect_eq(sixth->cleanings, 0);
    cr_expect_not(twelfth->is_open, "closed_on");
    cr_expect_not(m1->days[2].is_open, "a Saturday");
}

Test(portrait, controls_stand_by_level_with_the_limits_of_their_lot)
{
    BENCH bench;
    const struct portrait *portrait = october(&bench);
    cr_assert_eq(portrait->series_count, 2);
    const struct portrait_series *low = &portrait->series[0], *high = &portrait->series[1];
    EXPECT_SAME(low->level, "low");
    EXPECT_SAME(low->unit, "mg/dL");
    cr_assert_eq(low->control_count, 2);
    cr_expect_eq(low->controls[0].state, CONTROL_GOOD);
    cr_expect_float_eq(low->controls[1].z, 2.5, 1e-12);
    EXPECT_SAME(low->controls[1].performed_at, "2026-10-06 08:00");
    EXPECT_SAME(low->controls[1].place.file, "records/controls.csv");
    cr_expect_eq(low->controls[1].place.line, 4);
    cr_assert_eq(low->limit_count, 1);
    cr_expect(low->limits[0].has_low && low->limits[0].has_high && low->limits[0].has_mean);
    cr_expect_float_eq(low->limits[0].high, 54, 1e-12);
    cr_assert_eq(high->limit_count, 2, "C1 and the unknown C9");
    cr_expect_not(high->limits[0].has_mean);
    cr_expect_not(high->controls[0].has_z);
    cr_expect_not(high->limits[1].has_low);
    cr_expect_eq(high->controls[1].state, CONTROL_UNJUDGED);
}

Test(portrait, lots_in_use_opened_or_in_date_reagents_first)
{
    static const char *const lots[] = {"R1", "R2", "C1", "C1"};
    BENCH bench;
    const struct portrait *portrait = october(&bench);
    cr_assert_eq(portrait->lot_count, 4, "R0 was discarded before");
    for (size_t i = 0; i < 4; i++)
        EXPECT_SAME(portrait->lots[i].lot, lots[i]);
    const struct portrait_lot *r1 = &portrait->lots[0], *r2 = &portrait->lots[1], *high = &portrait->lots[2];
    cr_expect_eq(r1->first_run_on, day_of("2026-09-30"));
    cr_expect_eq(r1->last_run_on, day_of("2026-10-06"));
    cr_expect_eq(r1->tests, 1);
    cr_assert_eq(r2->opening_count, 2);
    cr_expect_eq(r2->opened_on[0], day_of("2026-09-05"));
    cr_expect_eq(r2->tests, 2, "controls are not counted on a reagent lot, nor tests after as-of");
    cr_expect_eq(r2->last_run_on, day_of("2026-10-06"));
    EXPECT_SAME(high->level, "high");
    cr_expect_eq(high->tests, 2);
    cr_expect_eq(portrait->lots[3].tests, 2);
}

Test(portrait, people_with_their_training_up_to_as_of)
{
    BENCH bench;
    const struct portrait *portrait = october(&bench);
    cr_assert_eq(portrait->operator_count, 2, "lee has left, new has not begun");
    const struct portrait_operator *kim = &portrait->operators[1];
    EXPECT_SAME(portrait->operators[0].operator_, "ann");
    EXPECT_SAME(kim->operator_, "kim");
    cr_expect_eq(kim->tests, 2);
    cr_assert_eq(kim->training_count, 4);
    EXPECT_SAME(kim->trainings[0].method, "cassette");
    EXPECT_SAME(kim->trainings[1].event, "initial");
    EXPECT_SAME(kim->trainings[3].outcome, "fail");
    const struct {
        size_t training;
        day_number until;
    } rows[] = {{1, day_of("2025-09-30")}, {2, day_of("2027-03-01")}, {3, DAY_ABSENT}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect_eq(portrait_good_until(bench.history, kim->operator_, &kim->trainings[rows[i].training], 12, 6),
                     rows[i].until, "training %zu", rows[i].training);
}

Test(portrait, the_rest_of_the_site)
{
    BENCH bench;
    const struct portrait *portrait = october(&bench);
    cr_assert_eq(portrait->volume_count, 2);
    EXPECT_SAME(portrait->volumes[0].method, "cassette");
    cr_expect_eq(portrait->volumes[0].tests, 0);
    cr_expect(portrait->volumes[1].on_menu && portrait->volumes[1].waived);
    cr_expect_eq(portrait->volumes[1].tests, 3);
    cr_expect_eq(portrait->volumes[1].controls, 5);
    cr_assert_eq(portrait->action_count, 2);
    EXPECT_SAME(portrait->actions[0].action, "CA-1");
    cr_expect_eq(portrait->actions[0].closed_on, DAY_ABSENT, "closed after as-of");
    cr_expect_eq(portrait->actions[1].closed_on, day_of("2026-10-07"));
    cr_assert_eq(portrait->code_count, 1);
    EXPECT_SAME(portrait->codes[0].code, "455");
    EXPECT_SAME(portrait->certificate_number, "99D1");
    EXPECT_SAME(portrait->director, "Dr F.");
    cr_expect_eq(portrait->months[0].from, day_of("2025-11-01"));
    cr_expect_eq(portrait->months[11].from, day_of("2026-10-01"));
}

Test(portrait, a_site_without_a_record)
{
    BENCH bench;
    bench_open(&bench, "site: mill\nname: Mill\nopen_days: [mon]\n", NULL, "2026-10-31");
    const struct portrait *portrait = bench_portrait(&bench, "2026-10-01", "2026-10-31");
    cr_expect_eq(portrait->analyzer_count + portrait->series_count + portrait->lot_count + portrait->code_count +
                     portrait->operator_count + portrait->action_count + portrait->volume_count,
                 0);
    cr_expect_null(portrait->certificate_number.data);
    cr_expect_eq(portrait->certificate_expires_on, DAY_ABSENT);
}
