/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands where a specimen's id stood, and what must not be taken for one. */
#include "findings/redact.h"

#include "bench.h"

/* The sentence of a finding about the only test of the specimen, hidden. */
static struct text says_of(struct bench *bench, const char *specimen, const char *sentence)
{
    static const struct rule_text rule = {.id = TEXT("results.repeat-specimen")};
    AUTO(redaction) redaction = redaction_new(bench->history);
    struct affected_test *test = arena_take(bench->arena, sizeof *test);
    *test = (struct affected_test){.test = TEXT("T1"), .specimen = text_of(specimen)};
    const struct affected_test **tests = arena_take(bench->arena, sizeof *tests);
    tests[0] = test;
    struct finding finding = {.rule = &rule,
                              .site = TEXT("example"),
                              .subject[SUBJECT_RECORD] = text_of(specimen),
                              .says = text_of(sentence),
                              .tests = tests,
                              .test_count = 1};
    redact_findings(redaction, &finding, 1, bench->arena);
    cr_expect(text_starts(finding.subject[SUBJECT_RECORD], "specimen "));
    cr_expect(text_starts(finding.tests[0]->specimen, "specimen "));
    return finding.says;
}

Test(redact, a_specimen_is_hidden_and_numbers_and_days_are_not)
{
    static const struct {
        const char *specimen, *says, *expected;
    } rows[] = {
        {"S-7", "S-7 gave 6.4 and 5.5", "specimen 1 gave 6.4 and 5.5"},
        {"S-7", "row T1,S-7,HS-33: S-7.", "row T1,specimen 1,HS-33: specimen 1."},
        {"5", "5 gave 6.5 at 2026-10-5 08:5 and 5.5", "specimen 2 gave 6.5 at 2026-10-5 08:5 and 5.5"},
        {"5", "specimen '5', 15 and 51, 1/5", "specimen 'specimen 2', 15 and 51, 1/5"},
        {"5", "it was 5.", "it was specimen 2."},
        {"26-10", "26-10 on 2026-10-05", "specimen 3 on 2026-10-05"},
    };
    BENCH bench;
    bench_open(&bench, "site: example\n", NULL, "2026-10-31");
    bench_log(&bench, KIND_TESTS,
              "test,performed_at,analyzer,operator,specimen,lot,result\n"
              "T1,2026-10-05 08:00,A1,ann,S-7,L1,5.5\n"
              "T2,2026-10-05 08:10,A1,ann,5,L1,5.5\n"
              "T3,2026-10-05 08:20,A1,ann,26-10,L1,5.5\n");
    history_ready(bench.history);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct text says = says_of(&bench, rows[i].specimen, rows[i].says);
        cr_expect(text_is(says, rows[i].expected), "%s: %.*s", rows[i].says, TEXT_FORMAT(says));
    }
}

/* A finding of a rule of one's own: what stands in its subject and sentence, hidden. */
Test(redact, what_a_rule_takes_from_a_specimen_is_hidden_wherever_it_puts_it)
{
    static const struct {
        const char *specimen, *record, *detail, *says, *shown[3];
    } rows[] = {
        {"S-7", NULL, "S-7", "S-7 gave 5", {NULL, "specimen 1", "specimen 1 gave 5"}},
        {"5", "5", NULL, "5 gave 5.5", {"specimen 3", NULL, "specimen 3 gave 5.5"}},
        {NULL,
         "S-7 at 08:00",
         "of S-71, XS-7",
         "S-71 and S-7", /* told by a site rule */
         {"specimen 1 at 08:00", "of specimen 2, XS-7", "specimen 2 and specimen 1"}},
        {NULL, "T1 again", "5 of 7", "T1 is 5 of 7, S-72", {"T1 again", "5 of 7", "T1 is 5 of 7, S-72"}},
    };
    static const struct rule_text rule = {.id = TEXT("own.rule")};
    static const struct affected_test test = {.test = TEXT("T1"), .specimen = TEXT("T1")};
    const struct affected_test *tests[] = {&test};
    BENCH bench;
    bench_open(&bench, "site: example\n", NULL, "2026-10-31");
    bench_log(&bench, KIND_TESTS,
              "test,performed_at,analyzer,operator,specimen,lot,result\n"
              "T2,2026-10-05 08:00,A1,ann,S-7,L1,5.5\n"
              "T3,2026-10-05 08:10,A1,ann,S-71,L1,5.5\n"
              "T4,2026-10-05 08:20,A1,ann,5,L1,5.5\n"
              "T1,2026-10-05 08:30,A1,ann,T1,L1,5.5\n");
    history_ready(bench.history);
    AUTO(redaction) redaction = redaction_new(bench.history);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct finding finding = {.rule = &rule, .site = TEXT("example"), .tests = tests, .test_count = 1};
        const struct text *shown[] = {&finding.subject[SUBJECT_RECORD], &finding.subject[SUBJECT_DETAIL],
                                      &finding.says};
        finding.subject[SUBJECT_RECORD] = rows[i].record ? text_of(rows[i].record) : (struct text){0};
        finding.subject[SUBJECT_DETAIL] = rows[i].detail ? text_of(rows[i].detail) : (struct text){0};
        finding.says = text_of(rows[i].says);
        finding.specimen = rows[i].specimen ? text_of(rows[i].specimen) : (struct text){0};
        finding.subject[SUBJECT_LEVEL] = finding.specimen;
        if (i < 3)
            finding.test_count = 0;
        redact_findings(redaction, &finding, 1, bench.arena);
        for (size_t field = 0; field < 3; field++)
            cr_expect(text_is(*shown[field], rows[i].shown[field]), "%zu: %.*s", i, TEXT_FORMAT(*shown[field]));
        cr_expect(finding.specimen.size == 0 || text_starts(finding.subject[SUBJECT_LEVEL], "specimen "));
    }
}

Test(redact, long_numbers_are_hidden_in_words_and_short_ones_are_not)
{
    static const char *const rows[][2] = {
        {"20263123 of ann", "specimen 1 of ann"},
        {"sample 20263123.", "sample specimen 1."},
        {"120263123 and 2026312 and 1.20263123", "120263123 and 2026312 and 1.20263123"},
        {"12 of 20263123 gave 12", "12 of specimen 1 gave 12"},
        {"told of S-7", "told of specimen 3"},
    };
    BENCH bench;
    bench_open(&bench, "site: example\n", NULL, "2026-10-31");
    bench_log(&bench, KIND_TESTS,
              "test,performed_at,analyzer,operator,specimen,lot,result\n"
              "T1,2026-10-05 08:00,A1,ann,20263123,L1,5.5\n"
              "T2,2026-10-05 08:10,A1,ann,12,L1,5.5\n"
              "T3,2026-10-05 08:20,A1,ann,S-7,L1,5.5\n");
    history_ready(bench.history);
    AUTO(redaction) redaction = redaction_new(bench.history);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct finding_answer answer = {.problem = text_of(rows[i][0]), .taken = text_of(rows[i][0])};
        struct text words = redacted_words(redaction, text_of(rows[i][0]), bench.arena);
        cr_expect(text_is(words, rows[i][1]), "%.*s", TEXT_FORMAT(words));
        redact_answers(redaction, &answer, 1, bench.arena);
        cr_expect(text_is(answer.problem, rows[i][1]) && text_is(answer.taken, rows[i][1]));
    }
}

/* Result and specimen exchanged: a specimen of the records is no result; a figure may be one, and a word of the method
 * is one. */
Test(redact, a_result_that_is_a_specimen_is_hidden)
{
    static const char *const rows[][2] = {
        {"S-7", "specimen 1"}, {"20263123", "specimen 2"}, {"12", "12"}, {"invalid", "invalid"}};
    static const struct rule_text rule = {.id = TEXT("own.rule")};
    BENCH bench;
    bench_open(&bench, "site: example\n", "method: meter\nwaived: true\nwords: [positive, invalid]\n", "2026-10-31");
    bench_log(&bench, KIND_TESTS,
              "test,performed_at,analyzer,operator,specimen,lot,result\n"
              "T1,2026-10-05 08:00,A1,ann,S-7,L1,5.5\n"
              "T2,2026-10-05 08:10,A1,ann,20263123,L1,5.5\n"
              "T3,2026-10-05 08:20,A1,ann,12,L1,5.5\n"
              "T4,2026-10-05 08:30,A1,ann,invalid,L1,5.5\n");
    history_ready(bench.history);
    AUTO(redaction) redaction = redaction_new(bench.history);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct affected_test test = {.test = TEXT("T9"), .method = TEXT("meter"), .result = text_of(rows[i][0])};
        const struct affected_test *tests[] = {&test};
        struct finding finding = {
            .rule = &rule, .says = TEXT("x"), .excuse = TEXT("S-7 only"), .tests = tests, .test_count = 1};
        redact_findings(redaction, &finding, 1, bench.arena);
        cr_expect(text_is(finding.tests[0]->result, rows[i][1]), "%.*s", TEXT_FORMAT(finding.tests[0]->result));
        cr_expect(text_is(finding.excuse, "specimen 1 only"));
    }
}
