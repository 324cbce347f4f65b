/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening: what is no store, who holds it, and what is left after a process died in the middle of a load. */
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "clinic.h"

#define CLEANING "cleaned_at,analyzer,task,operator\n"

static void expect_refused(const struct clinic *clinic, enum store_mode mode, const char *part)
{
    struct fault fault = {.code = FAULT_NONE};
    AUTO(store) store = NULL;
    cr_expect_not(store_open(&store, clinic->store_path, mode, &fault), "%s", part);
    cr_expect_eq(fault.code, FAULT_STORE);
    cr_expect_eq(strncmp(fault.text, clinic->store_path, strlen(clinic->store_path)), 0, "%s", fault.text);
    cr_expect_not_null(strstr(fault.text, part), "%s: %s", part, fault.text);
}

static const struct {
    const char *what, *content, *sql, *refused;
} strangers[] = {
    {"an empty file", "", NULL, "no store: the file is empty"},
    {"a text",
     "not a database at all, but a text that goes on for more than a hundred bytes, as headers are 100 bytes long",
     NULL, "no store: the file is no SQLite database"},
    {"another program's database", NULL, "CREATE TABLE t(a); INSERT INTO t VALUES(1)",
     "an SQLite database of another program"},
};

static void load_a_cleaning(struct clinic *clinic)
{
    clinic_open(clinic);
    clinic_put(clinic, "records/cleaning.csv", CLEANING "2026-10-05 08:00,A1,daily,op1\n");
    clinic_load(clinic, "2026-10-06");
}

Test(open, what_is_no_store_is_refused_by_name_and_left_alone)
{
    CLINIC clinic;
    clinic_open(&clinic);
    for (size_t i = 0; i < sizeof strangers / sizeof *strangers; i++) {
        struct file_bytes before, after;
        clinic_put(&clinic, "assize.db", "");
        clinic_put(&clinic, "assize.db", NULL);
        if (strangers[i].content != NULL)
            clinic_put(&clinic, "assize.db", strangers[i].content);
        else
            clinic_edit(&clinic, strangers[i].sql);
        cr_assert(file_read(clinic.store_path, NULL, &before, NULL));
        expect_refused(&clinic, STORE_WRITE, strangers[i].refused);
        expect_refused(&clinic, STORE_READ, strangers[i].refused);
        cr_assert(file_read(clinic.store_path, NULL, &after, NULL));
        cr_expect(before.size == after.size && memcmp(before.data, after.data, after.size) == 0, "%s",
                  strangers[i].what);
        memory_free(before.data);
        memory_free(after.data);
    }
}

Test(open, a_store_of_a_newer_release_is_refused)
{
    CLINIC clinic;
    load_a_cleaning(&clinic);
    clinic_edit(&clinic, "ALTER TABLE cleaning ADD COLUMN agent TEXT; UPDATE cleaning SET agent = 'x'");
    expect_refused(&clinic, STORE_READ, "made by a newer assize: cleaning.agent is not known here");
    clinic_edit(&clinic, "UPDATE cleaning SET agent = 'y'; PRAGMA user_version = 99");
    expect_refused(&clinic, STORE_WRITE, "made by a newer assize: schema 99");
    clinic_edit(&clinic, "UPDATE cleaning SET agent = 'z'; PRAGMA user_version = -5");
    expect_refused(&clinic, STORE_WRITE, "damaged: its schema has the number -5");
    expect_refused(&clinic, STORE_READ, "damaged: its schema has the number -5");
}

/* Schema 3 did not keep the size of logs: the first load after it parses what changed as a whole. */
Test(open, a_store_of_schema_3_is_read_migrated_and_loaded_into)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put_older(&clinic);
    struct fault fault = {.code = FAULT_NONE};
    struct store *store = NULL;
    cr_assert(store_open(&store, clinic.store_path, STORE_READ, &fault), "%s", fault.text);
    cr_expect_not(store_was_edited(store));
    store_free(store);
    EXPECT_TEXT(clinic_break(&clinic), "");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_OPERATORS), "kim 2022-03-04 @records/operators.csv:2");
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_head(&clinic), "4e8e0f9a672f8c4f6a6211ca8c160b55dd2d906625442e8ba97098a6bc58ef2a");
    for (int day = 0; day < 2; day++) {
        char log[400];
        snprintf(log, sizeof log,
                 "test,performed_at,analyzer,operator,specimen,lot,result,note\n"
                 "T1,2026-10-05 09:00,A1,op1,S1,L1,5.4,\nT2,2026-10-05 09:10,A1,op1,S2,L1,6.0,\n"
                 "T3,2026-11-05 09:20,A1,op1,S3,L1,7.0,\n%s",
                 day == 1 ? "T4,2026-11-05 09:30,A1,op1,S4,L1,8.0,\n" : "");
        clinic_put(&clinic, "records/tests.csv", log);
        clinic_load(&clinic, day == 0 ? "2026-11-08" : "2026-11-09");
        EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), day == 0 ? "read 3, new 1" : "read 4, new 1");
    }
    EXPECT_TEXT(clinic_changes(&clinic), "");
}

/* As a release with schema 4 leaves it. */
static void put_schema_4(struct clinic *clinic)
{
    clinic_put(clinic, "records/cleaning.csv", CLEANING "2026-10-05 08:00,A1,daily,op1\n");
    clinic_load(clinic, "2026-10-06");
    clinic_edit_sealed(clinic, "ALTER TABLE audit_findings DROP COLUMN last_day;"
                               "ALTER TABLE audit_findings DROP COLUMN first_day; PRAGMA user_version = 4");
}

/* Assize's own change of the schema must not look like another program's. */
Test(open, a_migrated_store_is_not_taken_for_an_edited_one)
{
    CLINIC clinic;
    clinic_open(&clinic);
    put_schema_4(&clinic);
    for (int i = 0; i < 2; i++) {
        struct fault fault = {.code = FAULT_NONE};
        AUTO(store) store = NULL;
        cr_assert(store_open(&store, clinic.store_path, STORE_READ, &fault), "%s", fault.text);
        cr_expect_not(store_was_edited(store));
        clinic_load(&clinic, "2026-10-06");
    }
}

Test(open, an_edited_store_of_an_older_release_is_refused_as_it_was)
{
    CLINIC clinic;
    clinic_open(&clinic);
    put_schema_4(&clinic);
    clinic_edit(&clinic, "UPDATE cleaning SET task = 'weekly'");
    struct file_bytes before, after;
    cr_assert(file_read(clinic.store_path, NULL, &before, NULL));
    expect_refused(&clinic, STORE_WRITE, "was changed by another program and is broken");
    cr_assert(file_read(clinic.store_path, NULL, &after, NULL));
    cr_expect(before.size == after.size && memcmp(before.data, after.data, after.size) == 0);
    memory_free(before.data);
    memory_free(after.data);
}

/* Opened, and then edited by another program. */
static void edit_while_open(struct clinic *clinic, enum store_mode mode, struct store **store)
{
    struct fault fault = {.code = FAULT_NONE};
    load_a_cleaning(clinic);
    cr_assert(store_open(store, clinic->store_path, mode, &fault), "%s", fault.text);
    cr_expect(store_stayed(*store, &fault), "%s", fault.text);
    clinic_edit(clinic, "UPDATE cleaning SET task = 'weekly'");
}

/* The store was looked at when it was opened: a transaction begun later must not seal what came in between. */
Test(open, what_another_program_writes_meanwhile_is_not_sealed)
{
    CLINIC clinic;
    struct fault fault = {.code = FAULT_NONE};
    AUTO(store) store = NULL;
    AUTO(load_report) report = NULL;
    edit_while_open(&clinic, STORE_WRITE, &store);
    cr_expect_not(store_load(store, NULL, 0, 9000, NULL, &report, &fault));
    cr_expect_not_null(strstr(fault.text, "another program while it was open; nothing was written"), "%s", fault.text);
}

Test(open, a_reader_is_told_that_the_store_was_written_to_meanwhile)
{
    CLINIC clinic;
    struct fault fault = {.code = FAULT_NONE};
    AUTO(store) store = NULL;
    edit_while_open(&clinic, STORE_READ, &store);
    cr_expect_not(store_stayed(store, &fault));
    cr_expect_not_null(strstr(fault.text, "was written to while it was read"), "%s", fault.text);
}

Test(open, verify_tells_nothing_of_two_states_of_the_store)
{
    CLINIC clinic;
    struct fault fault = {.code = FAULT_NONE};
    struct chain_report report;
    AUTO(store) store = NULL;
    edit_while_open(&clinic, STORE_READ, &store);
    cr_expect_not(store_verify(store, &report, &fault));
    cr_expect_not_null(strstr(fault.text, "was written to while it was read"), "%s", fault.text);
}

/* A release that had no notes of temperatures and no comparisons: they are added, and what is there stays as it was
 * hashed. */
Test(open, a_store_of_an_older_release_gains_the_columns_and_kinds_that_are_new)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/temperatures.csv", "read_at,place,celsius,operator\n2026-10-05 08:00,room,21,op1\n");
    clinic_load(&clinic, "2026-10-06");
    clinic_edit(
        &clinic,
        "UPDATE temperatures SET line = line; ALTER TABLE temperatures DROP COLUMN note; DROP TABLE comparisons");
    EXPECT_TEXT(clinic_break(&clinic), "");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_COMPARISONS), "");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TEMPERATURES), "2026-10-05 08:00 room 21 op1 @records/temperatures.csv:2");
    clinic_put(
        &clinic, "records/temperatures.csv",
        "read_at,place,celsius,note,operator\n2026-10-05 08:00,room,21,door open,op1\n2026-10-05 09:00,room,22,,op1\n");
    clinic_load(&clinic, "2026-10-07");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_TEMPERATURES), "read 2, new 1, filled 1");
    EXPECT_TEXT(clinic_rows(&clinic, KIND_TEMPERATURES),
                "2026-10-05 08:00 room 21 op1 door open @records/temperatures.csv:2\n"
                "2026-10-05 09:00 room 22 op1 @records/temperatures.csv:3");
}

Test(open, reading_asks_for_a_store_that_is_there_and_writes_nothing)
{
    CLINIC clinic;
    clinic_open(&clinic);
    expect_refused(&clinic, STORE_READ, "there is no store yet");
    cr_expect_neq(access(clinic.store_path, F_OK), 0);
    clinic_put(&clinic, "records/cleaning.csv", CLEANING);
    clinic_load(&clinic, "2026-10-06");
    struct fault fault = {.code = FAULT_NONE};
    AUTO(store) store = NULL;
    cr_assert(store_open(&store, clinic.store_path, STORE_READ, &fault));
    cr_expect_not(store_load(store, NULL, 0, 9000, NULL, &clinic.report, &fault));
}

/* Pages in the middle are overwritten: no read may crash, and none may call it whole. */
Test(open, a_damaged_store_is_told)
{
    CLINIC clinic;
    struct file_bytes bytes;
    clinic_open(&clinic);
    char log[16000] = CLEANING;
    for (int i = 0; i < 300; i++)
        sprintf(log + strlen(log), "2026-10-05 08:%02d:%02d,A1,daily,op1\n", i / 60, i % 60);
    clinic_put(&clinic, "records/cleaning.csv", log);
    clinic_load(&clinic, "2026-10-06");
    cr_assert(file_read(clinic.store_path, NULL, &bytes, NULL));
    for (size_t page = 1; page < bytes.size / 4096; page++) {
        struct fault fault = {.code = FAULT_NONE};
        struct chain_report report = {.whole = false};
        FILE *file = fopen(clinic.store_path, "w");
        cr_assert_not_null(file);
        fwrite(bytes.data, 1, page * 4096, file);
        for (int i = 0; i < 4096; i++)
            fputc(0xA5, file);
        fwrite(bytes.data + (page + 1) * 4096, 1, bytes.size - (page + 1) * 4096, file);
        fclose(file);
        AUTO(store) store = NULL;
        bool read = store_open(&store, clinic.store_path, STORE_READ, &fault) && store_verify(store, &report, &fault);
        cr_expect_neq(read, fault.code != FAULT_NONE, "page %zu", page);
        cr_expect_not(read && report.whole, "page %zu", page);
        if (!read)
            cr_expect_not_null(strstr(fault.text, "damaged"), "page %zu: %s", page, fault.text);
    }
    memory_free(bytes.data);
}

/* ---- two processes ---- */

static void wait_a_millisecond(void) { nanosleep(&(struct timespec){.tv_nsec = 1000000}, NULL); }

/* A process that opens the store for writing and holds it until it is killed; returns once it does. */
static pid_t hold(const struct clinic *clinic)
{
    int ends[2];
    char byte;
    cr_assert_eq(pipe(ends), 0);
    pid_t process = fork();
    if (process == 0) {
        struct fault fault = {.code = FAULT_NONE};
        struct store *store = NULL;
        bool opened = store_open(&store, clinic->store_path, STORE_WRITE, &fault);
        ssize_t written = write(ends[1], opened ? "y" : "n", 1);
        while (written == 1)
            pause();
        _exit(1);
    }
    close(ends[1]);
    cr_assert_eq(read(ends[0], &byte, 1), 1);
    cr_assert_eq(byte, 'y');
    close(ends[0]);
    return process;
}

static void kill_and_wait(pid_t process)
{
    kill(process, SIGKILL);
    waitpid(process, NULL, 0);
}

Test(open, a_second_writer_is_told_who_holds_the_store_and_a_reader_is_let_in)
{
    CLINIC clinic;
    struct fault fault = {.code = FAULT_NONE};
    char holder[64];
    load_a_cleaning(&clinic);
    pid_t process = hold(&clinic);
    snprintf(holder, sizeof holder, "locked by process %ld on ", (long)process);
    expect_refused(&clinic, STORE_WRITE, holder);
    EXPECT_TEXT(clinic_rows(&clinic, KIND_CLEANING), "2026-10-05 08:00 A1 daily op1 @records/cleaning.csv:2");
    kill_and_wait(process);
    AUTO(store) store = NULL;
    cr_expect(store_open(&store, clinic.store_path, STORE_WRITE, &fault), "%s", fault.text);
}

/* Others make the store while this one looks for it. */
Test(open, a_store_that_is_being_made_is_held_as_well)
{
    CLINIC clinic;
    clinic_open(&clinic);
    pid_t process = hold(&clinic);
    expect_refused(&clinic, STORE_WRITE, "locked by process ");
    kill_and_wait(process);
    clinic_put(&clinic, "records/cleaning.csv", CLEANING "2026-10-05 08:00,A1,daily,op1\n");
    clinic_load(&clinic, "2026-10-06");
    EXPECT_TEXT(clinic_counts(&clinic, KIND_CLEANING), "read 1, new 1");
}

Test(open, an_sqlite_shell_in_the_middle_of_a_change_locks_the_store)
{
    CLINIC clinic;
    struct fault fault = {.code = FAULT_NONE};
    sqlite3 *shell;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/cleaning.csv", CLEANING);
    clinic_load(&clinic, "2026-10-06");
    cr_assert_eq(sqlite3_open(clinic.store_path, &shell), SQLITE_OK);
    cr_assert_eq(sqlite3_exec(shell, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
    AUTO(store) store = NULL;
    cr_expect_not(store_open(&store, clinic.store_path, STORE_WRITE, &fault));
    cr_expect_not_null(strstr(fault.text, "locked by another program"), "%s", fault.text);
    sqlite3_close(shell);
}

/* ---- kill -9 ---- */

static void put_many(const struct clinic *clinic, int shift)
{
    enum { ROWS = 20000, ROW_SIZE = 64 };
    char *log = memory_new(ROWS * ROW_SIZE), *at = log;
    at += sprintf(at, "test,performed_at,analyzer,operator,specimen,lot,result\n");
    for (int i = 0; i < ROWS; i++)
        at += sprintf(at, "T%d,2026-10-%02d %02d:%02d,A1,op1,S%d,L1,%d.4\n", i, 1 + i % 28, i % 24, i % 60, i,
                      (i + shift) % 9);
    clinic_put(clinic, "records/tests.csv", log);
    memory_free(log);
}

static double seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

/* Loads in a process of its own, which is killed after so many seconds. True if it was killed before it was done. */
static bool load_and_kill(const struct clinic *clinic, double after)
{
    double start = seconds_now();
    pid_t process = fork();
    if (process == 0) {
        struct fault fault = {.code = FAULT_NONE};
        struct folder *folder = NULL;
        struct store *store = NULL;
        struct load_report *report = NULL;
        if (!folder_open(&folder, clinic->path, &fault) || !store_open(&store, clinic->store_path, STORE_WRITE, &fault))
            _exit(2);
        struct load_site site = {TEXT("clinic"), &folder->sites[0]};
        _exit(store_load(store, &site, 1, 9500, NULL, &report, &fault) ? 0 : 1);
    }
    int status = 0;
    while (waitpid(process, &status, WNOHANG) == 0) {
        if (seconds_now() - start < after) {
            wait_a_millisecond();
            continue;
        }
        kill_and_wait(process);
        return true;
    }
    cr_expect(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    return false;
}

static void read_head(const struct clinic *clinic, char head[DIGEST_HEX_SIZE])
{
    struct fault fault = {.code = FAULT_NONE};
    AUTO(store) store = NULL;
    cr_assert(store_open(&store, clinic->store_path, STORE_WRITE, &fault), "%s", fault.text);
    store_head(store, head);
}

/* At ten moments from the start of a load to its end: the store is as before it, or as after it. */
Test(open, a_load_that_is_killed_leaves_the_store_as_before)
{
    CLINIC clinic;
    char before[DIGEST_HEX_SIZE], now[DIGEST_HEX_SIZE];
    int killed = 0, as_before = 0;
    clinic_open(&clinic);
    put_many(&clinic, 0);
    cr_expect(load_and_kill(&clinic, 0.0)); /* a store that is made: killed, it is not there */
    cr_expect_neq(access(clinic.store_path, F_OK), 0);
    double start = seconds_now();
    clinic_load(&clinic, "2026-10-06");
    double whole = seconds_now() - start;
    strcpy(before, clinic_head(&clinic));
    put_many(&clinic, 1); /* every row is amended */
    for (int i = 0; i < 10; i++) {
        bool was_killed = load_and_kill(&clinic, whole * i / 8);
        read_head(&clinic, now);
        killed += was_killed;
        as_before += strcmp(now, before) == 0;
        cr_expect(was_killed || strcmp(now, before) != 0);
        EXPECT_TEXT(clinic_break(&clinic), "");
        if (strcmp(now, before) != 0)
            break;
    }
    cr_expect_gt(killed, 0);
    cr_expect_gt(as_before, 0);
    clinic_load(&clinic, "2026-10-07");
    cr_expect_eq(clinic.report->kinds[KIND_TESTS].read, 20000);
}
