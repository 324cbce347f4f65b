/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows that are refused: what they shield, what conflicts, and which files are looked at again. */
#include <stdio.h>

#include "clinic.h"

#define CLEANING "cleaned_at,analyzer,task,operator\n"
#define TESTS "test,performed_at,analyzer,operator,specimen,lot,result\n"
#define CONTROLS "performed_at,analyzer,operator,control_lot,level,lot,result\n"
#define T1 "T1,2026-10-05 09:00,A1,op1,S1,L1,5.4\n"
#define T1_OTHER "T1,2026-10-05 09:00,A1,op1,S1,L1,6.6\n"
#define T2 "T2,2026-10-05 09:10,A1,op1,S2,L1,6.0\n"
#define T3 "T3,2026-10-05 09:20,A1,op1,S3,L1,7.0\n"
#define STANDS_T1 "T1 2026-10-05 09:00 A1 op1 S1 L1 5.4 "
#define STANDS_T2 "T2 2026-10-05 09:10 A1 op1 S2 L1 6.0 "
#define STANDS_T3 "T3 2026-10-05 09:20 A1 op1 S3 L1 7.0 "

/* ---- shields ---- */

Test(refused, a_refused_row_keeps_the_last_good_version_until_it_is_gone)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", TESTS T1 T2);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests.csv", TESTS T2 "T1,2026-10-05 09:00,A1,,S1,L1,9.9\n");
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 2, refused 1");
    EXPECT_TEXT(clinic_changes(&clinic), "");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), STANDS_T1 "@records/tests.csv:3\n" STANDS_T2 "@records/tests.csv:2");
    clinic_put(&clinic, "records/tests.csv", TESTS T2);
    clinic_load(&clinic, "2026-10-08");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 1, withdrawn 1");
    EXPECT_TEXT(clinic_changes(&clinic), "withdrawn tests T1 on 2026-10-08, @records/tests.csv:3");
}

/* The refused row moves to another file, which then loses it while the first file does not change. */
Test(refused, a_record_follows_its_refused_row_into_another_file)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests-a.csv", TESTS T1 T2);
    clinic_put(&clinic, "records/tests-b.csv", TESTS T3);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests-a.csv", TESTS T2);
    clinic_put(&clinic, "records/tests-b.csv", TESTS T3 "T1,soon,A1,op1,S1,L1,5.4\n");
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), STANDS_T1
                "@records/tests-b.csv:3\n" STANDS_T2 "@records/tests-a.csv:2\n" STANDS_T3 "@records/tests-b.csv:2");
    clinic_put(&clinic, "records/tests-a.csv", TESTS T2 "\n");
    clinic_load(&clinic, "2026-10-08"); /* b is not parsed: what it refused still shields */
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 3, refused 1");
    clinic_put(&clinic, "records/tests-b.csv", TESTS T3);
    clinic_load(&clinic, "2026-10-09");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 2, withdrawn 1");
}

static const struct {
    const char *what, *row; /* in place of the control of 7:30 */
    bool withdraws;
} unreadable[] = {
    {"the level, a part of the key, is missing", "2026-10-05 07:30,A1,op1,C1,,L1,5.1\n", false},
    {"the time cannot be read", "yesterday,A1,op1,C1,low,L1,5.1\n", false},
    {"the time cannot be read, and another analyzer", "yesterday,A2,op1,C1,low,L1,5.1\n", true},
    {"a part that can be read is another", "2026-10-05 07:30,A1,op1,,high,L1,5.1\n", true},
    {"the key is whole and another", "2026-10-05 07:30,A1,,C1,low,L1,5.2\n", true},
    {"one cell too many", "2026-10-05 07:30,A1,op1,C1,low,L1,5.1,,x\n", false},
    {"text behind a quote", "2026-10-05 07:30,A1,op1,C1,low,L1,\"5.1\"x\n", false},
};

Test(refused, a_row_whose_key_cannot_be_read_shields_what_agrees_with_the_rest_of_it)
{
    CLINIC clinic;
    clinic_open(&clinic);
    for (size_t i = 0; i < sizeof unreadable / sizeof *unreadable; i++) {
        char log[300];
        clinic_put(&clinic, "records/controls.csv", CONTROLS "2026-10-05 07:30,A1,op1,C1,low,L1,5.1\n");
        clinic_load(&clinic, "2026-10-06");
        snprintf(log, sizeof log, "%s%s", CONTROLS, unreadable[i].row);
        clinic_put(&clinic, "records/controls.csv", log);
        clinic_load(&clinic, "2026-10-07");
        cr_expect_eq(clinic.report->kinds[KIND_CONTROLS].refused, 1, "%s", unreadable[i].what);
        cr_expect_eq(clinic.report->kinds[KIND_CONTROLS].withdrawn, unreadable[i].withdraws, "%s", unreadable[i].what);
    }
}

/* The container is a part of the key that may be left out, but here it is the cell that cannot be read. */
Test(refused, a_part_of_the_key_that_may_be_left_out_counts_as_unreadable_where_it_is_at_fault)
{
    CLINIC clinic;
    char log[300];
    clinic_open(&clinic);
    clinic_put(&clinic, "records/openings.csv", "opened_on,lot,container\n2026-10-05,L1,7\n2026-10-06,L1,\n");
    clinic_load(&clinic, "2026-10-06");
    snprintf(log, sizeof log, "opened_on,lot,container\n2026-10-05,L1,%070d\n2026-10-06,L1,\n", 7);
    clinic_put(&clinic, "records/openings.csv", log);
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_OPENINGS), "read 2, refused 1");
    EXPECT_TEXT(clinic_changes(&clinic), "");
}

Test(refused, a_test_without_a_readable_id_is_known_by_all_its_other_cells)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", TESTS T1 T2);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests.csv", TESTS ",2026-10-05 09:00,A1,op1,S1,L1,5.40\n");
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_changes(&clinic), "withdrawn tests T2 on 2026-10-07, @records/tests.csv:3");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), STANDS_T1 "@records/tests.csv:2");
}

Test(refused, a_quote_that_is_never_closed_withdraws_nothing_of_its_file)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", TESTS T1 T2 T3);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests.csv", TESTS T1 "T2,\"2026-10-05 09:10,A1,op1,S2,L1,6.0\n" T3);
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 2, refused 1");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS),
                STANDS_T1 "@records/tests.csv:2\n" STANDS_T2 "@records/tests.csv:3\n" STANDS_T3 "@records/tests.csv:4");
    /* Nor does it while another file changes. */
    clinic_put(&clinic, "records/tests-b.csv", TESTS);
    clinic_load(&clinic, "2026-10-08");
    EXPECT_TEXT(clinic_changes(&clinic), "");
}

Test(refused, a_file_refused_as_a_whole_withdraws_nothing_however_often_it_is_loaded)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests-a.csv", TESTS T1 T2);
    clinic_put(&clinic, "records/tests-b.csv", TESTS T3);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests-a.csv", "test,performed_at\nT1,2026-10-05 09:00\n");
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_refusals(&clinic),
                "records/tests-a.csv: lacks required columns: analyzer, operator, specimen, lot, result");
    cr_expect_eq(clinic.report->refused_files, 1);
    clinic_put(&clinic, "records/tests-b.csv", TESTS);
    clinic_load(&clinic, "2026-10-08");
    EXPECT_TEXT(clinic_changes(&clinic), "withdrawn tests T3 on 2026-10-08, @records/tests-b.csv:2");
    /* What stands in another file now is found there. */
    clinic_put(&clinic, "records/tests-b.csv", TESTS T1);
    clinic_load(&clinic, "2026-10-09");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS),
                STANDS_T1 "@records/tests-b.csv:2\n" STANDS_T2 "@records/tests-a.csv:3");
    clinic_put(&clinic, "records/tests-a.csv", NULL);
    clinic_load(&clinic, "2026-10-10");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), STANDS_T1 "@records/tests-b.csv:2");
}

/* ---- the same key twice ---- */

Test(refused, the_same_row_twice_is_loaded_once_and_said)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests-a.csv", TESTS T1 T2 "T1,2026-10-05T09:00:00,A1,op1,S1,L1,5.40\n");
    clinic_put(&clinic, "records/tests-b.csv", TESTS T2 T2 T2 T2 T2);
    clinic_load(&clinic, "2026-10-06");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 8, new 2, repeated 6");
    EXPECT_TEXT(clinic_warnings(&clinic), "records/tests-a.csv:4: the same row as records/tests-a.csv:2, loaded once\n"
                                          "records/tests-b.csv:2: the same row as records/tests-a.csv:3, loaded once\n"
                                          "records/tests-b.csv:3: the same row as records/tests-a.csv:3, loaded once\n"
                                          "records/tests-b.csv:4: the same row as records/tests-a.csv:3, loaded once\n"
                                          "records/tests-b.csv: 2 more rows stand in the logs before, loaded once");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS),
                STANDS_T1 "@records/tests-a.csv:2\n" STANDS_T2 "@records/tests-a.csv:3");
}

Test(refused, of_one_key_with_different_values_all_rows_are_refused)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", TESTS T1 T2 T1 T1_OTHER);
    clinic_load(&clinic, "2026-10-06");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 4, new 1, refused 3");
    EXPECT_TEXT(clinic_refusals(&clinic),
                "records/tests.csv:2: the key 'T1' stands at records/tests.csv:5 with other values\n"
                "records/tests.csv:4: the key 'T1' stands at records/tests.csv:5 with other values\n"
                "records/tests.csv:5: the key 'T1' stands at records/tests.csv:2 with other values");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), STANDS_T2 "@records/tests.csv:3");
}

/* A file that is not changed is drawn in when a key of its stands in another file. */
Test(refused, a_conflict_with_an_unchanged_file_refuses_its_row_too_and_heals)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests-a.csv", TESTS T1 T2);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests-b.csv", TESTS T1_OTHER T3);
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 4, new 1, refused 2");
    EXPECT_TEXT(clinic_refusals(&clinic),
                "records/tests-a.csv:2: the key 'T1' stands at records/tests-b.csv:2 with other values\n"
                "records/tests-b.csv:2: the key 'T1' stands at records/tests-a.csv:2 with other values");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), STANDS_T1
                "@records/tests-a.csv:2\n" STANDS_T2 "@records/tests-a.csv:3\n" STANDS_T3 "@records/tests-b.csv:3");
    /* The other way round it heals: the changed file gives in, and the unchanged one's row is good again. */
    clinic_put(&clinic, "records/tests-b.csv", TESTS T3);
    clinic_load(&clinic, "2026-10-08");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 3");
    EXPECT_TEXT(clinic_refusals(&clinic), "");
    EXPECT_TEXT(clinic_changes(&clinic), "");
}

Test(refused, a_conflict_that_heals_for_the_other_value_amends)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests-a.csv", TESTS T1 T2);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests-b.csv", TESTS T1_OTHER);
    clinic_load(&clinic, "2026-10-07");
    clinic_put(&clinic, "records/tests-a.csv", TESTS T2);
    clinic_load(&clinic, "2026-10-08"); /* b has not changed, but its row was refused */
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 2, amended 1");
    EXPECT_TEXT(clinic_changes(&clinic), "amended tests T1 on 2026-10-08, @records/tests-b.csv:2");
}

Test(refused, a_conflict_from_the_first_load_on_loads_its_row_once_it_heals)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests-a.csv", TESTS T1);
    clinic_put(&clinic, "records/tests-b.csv", TESTS T1_OTHER);
    clinic_load(&clinic, "2026-10-06");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), "");
    clinic_put(&clinic, "records/tests-b.csv", NULL);
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 1, new 1");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), STANDS_T1 "@records/tests-a.csv:2");
}

/* a has the conflict all by itself, so it need not be parsed again, until the key turns up elsewhere. */
Test(refused, a_key_in_conflict_in_an_unchanged_file_is_refused_in_a_new_one_too)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests-a.csv", TESTS T1 T1_OTHER);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests-b.csv", TESTS T1 T2);
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 4, new 1, refused 3");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), STANDS_T2 "@records/tests-b.csv:3");
}

Test(refused, a_row_repeated_across_files_stands_where_it_is_left)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests-a.csv", TESTS T1 T2);
    clinic_put(&clinic, "records/tests-b.csv", TESTS T1 T3);
    clinic_load(&clinic, "2026-10-06");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 4, new 3, repeated 1");
    clinic_put(&clinic, "records/tests-a.csv", TESTS T2);
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 3");
    EXPECT_TEXT(clinic_changes(&clinic), "");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), STANDS_T1
                "@records/tests-b.csv:2\n" STANDS_T2 "@records/tests-a.csv:2\n" STANDS_T3 "@records/tests-b.csv:3");
    clinic_put(&clinic, "records/tests-b.csv", TESTS T3);
    clinic_load(&clinic, "2026-10-08");
    EXPECT_TEXT(clinic_changes(&clinic), "withdrawn tests T1 on 2026-10-08, @records/tests-b.csv:2");
}

/* ---- what the audit is told ---- */

struct told {
    size_t count;
    struct stored_refusal last;
    char reason[80];
};

static void tell(void *context, const struct stored_refusal *refusal)
{
    struct told *told = context;
    told->count++;
    told->last = *refusal;
    snprintf(told->reason, sizeof told->reason, "%.*s", TEXT_FORMAT(refusal->reason));
}

static void count_file(void *context, const struct stored_file *file)
{
    uint64_t *counts = context;
    counts[0] += file->rows;
    counts[1] += file->refused.data != NULL;
    counts[2] += file->kind == NULL;
}

Test(refused, refusals_and_files_are_told_with_what_could_be_read)
{
    CLINIC clinic;
    struct fault fault = {.code = FAULT_NONE};
    struct told told = {0};
    uint64_t counts[3] = {0};
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv",
               "test,performed_at,analyzer,operator,specimen,lot,result,sequence\n"
               "T1,2026-10-05 09:00,A1,,S1,L1,5.4,1207\n\nT2,2026-10-05 09:10,A1,op1,S2,L1,6.0,1208\n");
    clinic_put(&clinic, "records/fridges.csv", "place\nroom\n");
    clinic_load(&clinic, "2026-10-06");
    AUTO(store) store = NULL;
    cr_assert(store_open(&store, clinic.store_path, STORE_READ, &fault), "%s", fault.text);
    cr_assert(store_refusals(store, TEXT("clinic"), tell, &told, &fault), "%s", fault.text);
    cr_expect_eq(told.count, 1);
    cr_expect_eq(told.last.line, 2);
    cr_expect_eq(told.last.kind, kind_of(KIND_TESTS));
    cr_expect(told.last.has_sequence);
    cr_expect_eq(told.last.sequence, 1207);
    cr_expect(text_is(names_text(store_names(store), told.last.analyzer), "A1"));
    cr_expect_str_eq(told.reason, "required, but empty");
    char at[MOMENT_TEXT_SIZE];
    moment_print(told.last.at, at);
    cr_expect_str_eq(at, "2026-10-05 09:00");
    cr_assert(store_files(store, TEXT("clinic"), count_file, counts, &fault), "%s", fault.text);
    cr_expect_eq(counts[0], 2);
    cr_expect_eq(counts[1], 1);
    cr_expect_eq(counts[2], 1);
}
