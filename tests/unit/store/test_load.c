/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Loads one after the other: what is new, amended, withdrawn. The files of conflicts and refusals have tests of their
 * own. */
#include "clinic.h"
#include "store/inside.h"

#define CLEANING "cleaned_at,analyzer,task,operator,note\n"
#define TESTS "test,performed_at,analyzer,operator,specimen,lot,result,note\n"
#define A1 "2026-10-05 08:00,A1,daily,op1,\n"
#define A2 "2026-10-05 08:05,A2,daily,op1,\n"
#define A3 "2026-10-04 17:00,A3,daily,op2,\n"
#define T1 "T1,2026-10-05 09:00,A1,op1,S1,L1,5.4,\n"
#define T2 "T2,2026-10-05 09:10,A1,op1,S2,L1,6.0,\n"

Test(load, records_come_back_in_the_order_of_their_time_with_file_and_line)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/cleaning.csv", CLEANING A1 "\n" A3);
    clinic_put(&clinic, "records/cleaning-b.csv", CLEANING A2);
    clinic_load(&clinic, "2026-10-06");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_CLEANING), "read 3, new 3");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_CLEANING), "2026-10-04 17:00 A3 daily op2 @records/cleaning.csv:4\n"
                                                     "2026-10-05 08:00 A1 daily op1 @records/cleaning.csv:2\n"
                                                     "2026-10-05 08:05 A2 daily op1 @records/cleaning-b.csv:2");
}

Test(load, kinds_that_are_no_events_come_back_by_path_and_line)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/operators-b.csv",
               "operator,started_on,may_assess\nzed,2020-01-01,Y\namy,2021-02-03,\n");
    clinic_put(&clinic, "records/operators-a.csv", "operator,started_on\nkim,2022-03-04\n");
    clinic_load(&clinic, "2026-10-06");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_OPERATORS), "kim 2022-03-04 @records/operators-a.csv:2\n"
                                                      "zed yes 2020-01-01 @records/operators-b.csv:2\n"
                                                      "amy 2021-02-03 @records/operators-b.csv:3");
}

Test(load, a_cell_of_each_type_comes_back_as_it_was_written)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/lots.csv",
               "lot,method,use,level,mean,sd,low,high,received_on,expires_on,note\n"
               "L1,strip,control,low,+5.40,.20,<4.2,word;ü,2026-01-01,2027-01-01,\"two\nlines\"\n");
    clinic_put(&clinic, "records/training.csv",
               "operator,method,event,held_on,assessor,outcome,techniques\n"
               "kim,strip,initial,2026-02-01,amy,pass,written; observation\n");
    clinic_put(&clinic, "records/tests.csv",
               "test,performed_at,analyzer,operator,specimen,lot,result,sequence,collected_at\n"
               "T1,2026-10-05T09:00:07,A1,op1,S1,L1,5.40,-999999999999999,2026-10-05 08:59\n");
    clinic_load(&clinic, "2026-10-06");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_LOTS),
                "L1 strip control low +5.40 .20 <4.2 word;ü 2026-01-01 2027-01-01 two\nlines "
                "@records/lots.csv:2");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TRAINING),
                "kim strip initial 2026-02-01 amy pass written; observation @records/training.csv:2");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), "T1 2026-10-05 09:00:07 A1 op1 S1 L1 5.40 2026-10-05 08:59 "
                                                  "-999999999999999 @records/tests.csv:2");
}

Test(load, the_same_folder_again_changes_no_byte_of_the_store)
{
    CLINIC clinic;
    struct file_bytes before, after;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", TESTS T1 T2 "T3,,,,,,,\n");
    clinic_load(&clinic, "2026-10-06");
    char head[DIGEST_HEX_SIZE];
    strcpy(head, clinic_head(&clinic));
    cr_assert(file_read(clinic.store_path, NULL, &before, NULL));
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 3, refused 1");
    EXPECT_TEXT(clinic_refusals(&clinic), "records/tests.csv:4: performed_at: required, but empty");
    EXPECT_TEXT(clinic_head(&clinic), head);
    cr_assert(file_read(clinic.store_path, NULL, &after, NULL));
    cr_expect_eq(before.size, after.size);
    cr_expect_arr_eq(before.data, after.data, before.size);
    memory_free(before.data);
    memory_free(after.data);
}

Test(load, an_unchanged_file_is_not_parsed_again)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv",
               "test,performed_at,analyzer,operator,specimen,lot,result,colour\n"
               "T1,2026-10-05 09:00,A1,op1,S1,L1,5.4,red\n");
    clinic_load(&clinic, "2026-10-06");
    EXPECT_TEXT(clinic_warnings(&clinic), "records/tests.csv:1: unknown column 'colour' is left out");
    /* What it said when it was parsed is told from the store: other words there are other words here. */
    clinic_edit_sealed(&clinic, "UPDATE warnings SET text = 'from the store'");
    clinic_load_edited(&clinic, "2026-10-07");
    cr_expect_eq(clinic.report->kinds[KIND_TESTS].files_unchanged, 1);
    EXPECT_TEXT(clinic_warnings(&clinic), "from the store");
}

Test(load, a_row_added_changed_and_taken_away_is_new_amended_and_withdrawn)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", TESTS T1 T2);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests.csv",
               TESTS "T3,2026-10-05 09:20,A1,op1,S3,L1,7.7,\n"
                     "T1,2026-10-05 09:00,A1,op1,S1,L1,5.5,\n");
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 2, new 1, amended 1, withdrawn 1");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), "T1 2026-10-05 09:00 A1 op1 S1 L1 5.5 @records/tests.csv:3\n"
                                                  "T3 2026-10-05 09:20 A1 op1 S3 L1 7.7 @records/tests.csv:2");
    EXPECT_TEXT(clinic_changes(&clinic), "amended tests T1 on 2026-10-07, @records/tests.csv:3\n"
                                         "withdrawn tests T2 on 2026-10-07, @records/tests.csv:3");
}

Test(load, an_event_that_is_no_part_of_the_key_may_be_amended_and_moves_the_record_in_time)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", TESTS T1 T2);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests.csv", TESTS "T1,2026-10-05 09:30,A1,op1,S1,L1,5.4,\n" T2);
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), "T2 2026-10-05 09:10 A1 op1 S2 L1 6.0 @records/tests.csv:3\n"
                                                  "T1 2026-10-05 09:30 A1 op1 S1 L1 5.4 @records/tests.csv:2");
    EXPECT_TEXT(clinic_changes(&clinic), "amended tests T1 on 2026-10-07, @records/tests.csv:2");
}

Test(load, the_same_value_in_another_spelling_amends_nothing_and_the_newest_spelling_stands)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", TESTS T1);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests.csv", TESTS "T1,2026-10-05T09:00:00,A1,op1,S1,L1,5.40,\n");
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 1");
    EXPECT_TEXT(clinic_changes(&clinic), "");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), "T1 2026-10-05 09:00:00 A1 op1 S1 L1 5.40 @records/tests.csv:2");
}

Test(load, filling_an_empty_cell_is_no_amendment_and_emptying_one_is)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", TESTS T1 "T2,2026-10-05 09:10,A1,op1,S2,L1,6.0,slow\n");
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests.csv", TESTS "T1,2026-10-05 09:00,A1,op1,S1,L1,5.4,seen\n" T2);
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 2, amended 1, filled 1");
    EXPECT_TEXT(clinic_changes(&clinic), "amended tests T2 on 2026-10-07, @records/tests.csv:3");
}

Test(load, of_several_amendments_the_latest_is_told_and_a_note_added_later_counts)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", TESTS T1);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests.csv", TESTS "T1,2026-10-05 09:00,A1,op1,S1,L1,5.5,\n");
    clinic_load(&clinic, "2026-10-07");
    clinic_put(&clinic, "records/tests.csv", TESTS T1); /* back to what it was: an amendment all the same */
    clinic_load(&clinic, "2026-10-08");
    EXPECT_TEXT(clinic_changes(&clinic), "amended tests T1 on 2026-10-08, @records/tests.csv:2");
    clinic_put(&clinic, "records/tests.csv", TESTS "T1,2026-10-05 09:00,A1,op1,S1,L1,5.4,typing error\n");
    clinic_load(&clinic, "2026-10-09");
    EXPECT_TEXT(clinic_changes(&clinic), "amended tests T1 on 2026-10-08, noted, @records/tests.csv:2");
}

Test(load, a_withdrawn_record_may_return_as_it_was_or_amended)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", TESTS T1 T2);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests.csv", TESTS);
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_changes(&clinic), "withdrawn tests T1 on 2026-10-07, @records/tests.csv:2\n"
                                         "withdrawn tests T2 on 2026-10-07, @records/tests.csv:3");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TESTS), "");
    clinic_put(&clinic, "records/tests.csv", TESTS T1 "T2,2026-10-05 09:10,A1,op1,S2,L1,6.6,\n");
    clinic_load(&clinic, "2026-10-08");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 2, new 1, amended 1");
    EXPECT_TEXT(clinic_changes(&clinic), "amended tests T2 on 2026-10-08, @records/tests.csv:3");
    clinic_put(&clinic, "records/tests.csv", TESTS);
    clinic_load(&clinic, "2026-10-09");
    EXPECT_TEXT(clinic_changes(&clinic), "withdrawn tests T1 on 2026-10-09, @records/tests.csv:2\n"
                                         "amended tests T2 on 2026-10-08, @records/tests.csv:3\n"
                                         "withdrawn tests T2 on 2026-10-09, @records/tests.csv:3");
}

Test(load, a_row_that_moves_to_another_line_or_file_is_neither_new_nor_withdrawn)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/cleaning.csv", CLEANING A1 A2);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/cleaning.csv", CLEANING A2);
    clinic_put(&clinic, "records/cleaning/older.csv", CLEANING "\n\n" A1);
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_CLEANING), "read 2");
    EXPECT_TEXT(clinic_changes(&clinic), "");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_CLEANING), "2026-10-05 08:00 A1 daily op1 @records/cleaning/older.csv:4\n"
                                                     "2026-10-05 08:05 A2 daily op1 @records/cleaning.csv:2");
}

Test(load, a_renamed_file_keeps_its_records_and_a_removed_one_withdraws_them)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/cleaning-a.csv", CLEANING A1);
    clinic_put(&clinic, "records/cleaning-b.csv", CLEANING A2);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/cleaning-a.csv", NULL);
    clinic_put(&clinic, "records/cleaning-z.csv", CLEANING A1);
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_CLEANING), "read 2");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_CLEANING), "2026-10-05 08:00 A1 daily op1 @records/cleaning-z.csv:2\n"
                                                     "2026-10-05 08:05 A2 daily op1 @records/cleaning-b.csv:2");
    clinic_put(&clinic, "records/cleaning-b.csv", NULL);
    clinic_put(&clinic, "records/cleaning-z.csv", NULL);
    clinic_load(&clinic, "2026-10-08");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_CLEANING), "withdrawn 2");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_CLEANING), "");
}

Test(load, a_folder_without_logs_makes_a_store_without_loads)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_load(&clinic, "2026-10-06");
    EXPECT_TEXT(clinic_head(&clinic), "0000000000000000000000000000000000000000000000000000000000000000");
    clinic_put(&clinic, "records/cleaning.csv", CLEANING);
    clinic_load(&clinic, "2026-10-07");
    cr_expect_neq(clinic_head(&clinic)[0], '\0');
    EXPECT_TEXT(clinic_rows(&clinic, KIND_CLEANING), "");
}

Test(load, sites_of_one_store_do_not_mix)
{
    CLINIC clinic;
    struct fault fault = {.code = FAULT_NONE};
    uint64_t count;
    clinic_open(&clinic);
    clinic_put(&clinic, "site.yaml", NULL);
    clinic_put(&clinic, "program.yaml", "program: p\n");
    clinic_put(&clinic, "sites/east/site.yaml", "site: east\n");
    clinic_put(&clinic, "sites/west/site.yaml", "site: west\n");
    clinic_put(&clinic, "sites/east/records/tests.csv", TESTS T1 T2);
    clinic_put(&clinic, "sites/west/records/tests.csv", TESTS T1 "T9,bad,A1,op1,S1,L1,5.4,\n");
    AUTO(folder) folder = NULL;
    AUTO(store) store = NULL;
    cr_assert(folder_open(&folder, clinic.path, &fault), "%s", fault.text);
    cr_assert_eq(folder->site_count, 2);
    cr_assert(store_open(&store, clinic.store_path, STORE_WRITE, &fault), "%s", fault.text);
    struct load_site sites[] = {{TEXT("east"), &folder->sites[0]}, {TEXT("west"), &folder->sites[1]}};
    cr_assert(store_load(store, sites, 2, 9000, NULL, &clinic.report, &fault), "%s", fault.text);
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 4, new 3, refused 1");
    EXPECT_TEXT(clinic_refusals(&clinic), "west: records/tests.csv:3: performed_at: bad: expected YYYY-MM-DD HH:MM");
    cr_expect(store_count(store, TEXT("east"), kind_of(KIND_TESTS), &count, &fault) && count == 2);
    cr_expect(store_count(store, TEXT("west"), kind_of(KIND_TESTS), &count, &fault) && count == 1);
    cr_expect(store_count(store, TEXT("north"), kind_of(KIND_TESTS), &count, &fault) && count == 0);
    /* A load of one site alone leaves the other as it is. */
    AUTO(load_report) alone = NULL;
    clinic_put(&clinic, "sites/west/records/tests.csv", TESTS);
    cr_assert(store_load(store, &sites[1], 1, 9001, NULL, &alone, &fault), "%s", fault.text);
    cr_expect_eq(alone->kinds[KIND_TESTS].withdrawn, 1);
    cr_expect(store_count(store, TEXT("east"), kind_of(KIND_TESTS), &count, &fault) && count == 2);
    struct chain_report chain;
    cr_expect(store_verify(store, &chain, &fault) && chain.whole, "%s", chain.first_break);
    cr_expect_eq(chain.loads, 2);
}

/* SQLite says that all went well. */
Test(load, a_row_that_the_database_leaves_out_is_noticed)
{
    static const char *const leaves_out[] = {
        "CREATE TEMP TRIGGER out BEFORE INSERT ON main.tests BEGIN SELECT RAISE(IGNORE); END",
        "CREATE TEMP TRIGGER out BEFORE INSERT ON main.history BEGIN SELECT RAISE(IGNORE); END",
        "CREATE TEMP TRIGGER out BEFORE DELETE ON main.tests BEGIN SELECT RAISE(IGNORE); END",
        "CREATE TEMP TRIGGER out BEFORE UPDATE ON main.tests BEGIN SELECT RAISE(IGNORE); END",
    };
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", TESTS T1 T2);
    clinic_load(&clinic, "2026-10-06");
    clinic_put(&clinic, "records/tests.csv", TESTS "\nT1,2026-10-05 09:00,A1,op1,S1,L1,5.5,\n" T2);
    for (size_t i = 0; i < sizeof leaves_out / sizeof *leaves_out; i++) {
        struct fault fault = {.code = FAULT_NONE};
        AUTO(folder) folder = NULL;
        AUTO(store) store = NULL;
        AUTO(load_report) report = NULL;
        cr_assert(folder_open(&folder, clinic.path, &fault), "%s", fault.text);
        cr_assert(store_open(&store, clinic.store_path, STORE_WRITE, &fault), "%s", fault.text);
        sqlite3_db_config(store->database.handle, SQLITE_DBCONFIG_ENABLE_TRIGGER, 1, NULL);
        cr_assert(sql_run(&store->database, leaves_out[i], &fault), "%s", fault.text);
        struct load_site site = {TEXT("clinic"), &folder->sites[0]};
        cr_expect_not(store_load(store, &site, 1, 20000, NULL, &report, &fault), "%s", leaves_out[i]);
        cr_expect_not_null(strstr(fault.text, "could be written; nothing was"), "%s: %s", leaves_out[i], fault.text);
    }
    EXPECT_TEXT(clinic_break(&clinic), "");
}
