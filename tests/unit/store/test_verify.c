/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The chain: any edit of any table shows, and the first break is named. */
#include <stdio.h>
#include <string.h>

#include "clinic.h"

#define TESTS "test,performed_at,analyzer,operator,specimen,lot,result,colour\n"
#define CLEANING "cleaned_at,analyzer,task,operator\n"

static void keep_audits(const struct clinic *clinic)
{
    static const struct kept_finding findings[] = {
        {TEXT("F-1"), TEXT("clinic"), TEXT("lots.early"), TEXT("F-S"), TEXT("new"), 9101, 9102},
        {TEXT("F-2"), TEXT("clinic"), {0}, {0}, {0}, DAY_ABSENT, DAY_ABSENT}};
    static const struct audit_key first = {9100, 9130, 9130}, second = {9131, 9160, 9160};
    struct fault fault = {.code = FAULT_NONE};
    AUTO(store) store = NULL;
    cr_assert(store_open(&store, clinic->store_path, STORE_WRITE, &fault), "%s", fault.text);
    static const struct audit_sum sums[] = {{TEXT("clinic"), 90, 88}};
    cr_assert(store_keep_audit(store, &first, findings, 2, sums, 1, &fault), "%s", fault.text);
    cr_assert(store_keep_audit(store, &second, findings, 1, NULL, 0, &fault), "%s", fault.text);
}

/* Three loads: one record is amended, one withdrawn, one is withdrawn and returns; rows are refused, warnings given. */
static void fill(struct clinic *clinic)
{
    clinic_open(clinic);
    clinic_put(clinic, "records/cleaning.csv",
               CLEANING "2026-10-05 08:00,A1,daily,op1\n2026-10-05 08:05,A2,daily,op1\n");
    clinic_put(clinic, "records/tests.csv",
               TESTS "T1,2026-10-05 09:00,A1,op1,S1,L1,5.4,\nT2,2026-10-05 09:10,A1,op1,S2,L1,6.0,\n");
    clinic_load(clinic, "2026-10-06");
    clinic_put(clinic, "records/cleaning.csv", CLEANING "2026-10-05 08:05,A2,daily,op2\nnow,A3,daily,op1\n");
    clinic_put(clinic, "records/tests.csv", TESTS "T2,2026-10-05 09:10,A1,op1,S2,L1,6.1,\n");
    clinic_load(clinic, "2026-10-07");
    clinic_put(clinic, "records/tests.csv",
               TESTS "T2,2026-10-05 09:10,A1,op1,S2,L1,6.1,\nT1,2026-10-05 09:00,A1,op1,S1,L1,5.4,\n");
    clinic_load(clinic, "2026-10-08");
    keep_audits(clinic);
    EXPECT_TEXT(clinic_break(clinic), "");
}

static const struct {
    const char *edit, *found; /* what the break must begin with */
} edits[] = {
    {"UPDATE tests SET result = '5.5' WHERE test = 'T2'", "load 2: clinic, tests: the versions that it took"},
    {"UPDATE tests SET result = x'352E34' WHERE test = 'T1'", "the table tests holds a value of another type"},
    {"UPDATE tests SET lot = (SELECT name FROM names WHERE text = 'A1') WHERE test = 'T2'", "load 2: clinic, tests: "},
    {"UPDATE tests SET sequence = 7 WHERE test = 'T2'", "load 2: clinic, tests: "},
    {"UPDATE tests SET performed_at = performed_at + 1 WHERE test = 'T2'", "load 2: clinic, tests: "},
    {"UPDATE tests SET n = 9 WHERE test = 'T2'", "load 2: clinic, tests: "},
    {"UPDATE tests SET load = 1 WHERE test = 'T2'", "load 1: clinic, tests: "},
    {"UPDATE tests SET line = 7 WHERE test = 'T2'", "load 3: clinic, tests: a record's file or line was changed"},
    {"UPDATE tests SET file = 99999 WHERE test = 'T2'", "load 3: clinic, tests: a record's file or line was changed"},
    {"UPDATE tests SET file = 1 WHERE test = 'T2'", "load 3: clinic, tests: a record's file or line was changed"},
    {"UPDATE tests SET site = 1 WHERE test = 'T2'", "load 2: "},
    {"DELETE FROM tests WHERE test = 'T2'", "load 2: clinic, tests: the versions that it took"},
    {"DELETE FROM tests", "load 2: clinic, tests: the versions that it took"},
    {"INSERT INTO tests SELECT site, 'T7', performed_at, analyzer, method, operator, specimen, lot, code, result, unit,"
     " collected_at, reported_at, notified_at, sequence, recorded_at, note, 7, file, line, load FROM tests WHERE test "
     "= 'T2'",
     "load 2: clinic, tests: the versions that it took"},
    {"INSERT INTO operators(site, n, operator, file, line, load) SELECT site, 1, operator, file, line, load FROM tests "
     "LIMIT 1",
     "load 3: clinic, operators: the versions that it took"},
    {"UPDATE cleaning SET operator = analyzer", "load 2: clinic, cleaning: the versions that it took"},
    {"UPDATE history SET row = x'00' WHERE n = 1 AND begun = 1", "load 1: clinic, "},
    {"UPDATE history SET begun = 3 WHERE ended = 3", "load 3: clinic, tests: the versions that it ended"},
    {"UPDATE history SET ended = 3 WHERE ended = 2", "load 2: clinic, "},
    {"UPDATE history SET line = 99 WHERE ended = 2", "load 2: clinic, "},
    {"UPDATE history SET next = 5 WHERE next IS NULL", "load 2: clinic, "},
    {"UPDATE history SET kind = 99 WHERE ended = 3", "load 2: the table links, history or standing names a kind"},
    {"DELETE FROM history", "load 1: clinic, "},
    {"UPDATE names SET text = 'A7' WHERE text = 'A1'", "load 1: the table names was changed"},
    {"UPDATE names SET load = 2 WHERE text = 'A1'", "load 1: the table names was changed"},
    {"INSERT INTO names VALUES(99, 'new', 1)", "load 1: the table names was changed"},
    {"INSERT INTO names VALUES(99, 'new', 9)", "load 9: the table names was changed"},
    {"DELETE FROM names WHERE text = 'A1'", "load 1: the table names was changed"},
    {"DELETE FROM names WHERE load = 2", "load 2: "},
    {"UPDATE files SET rows = 7", "load 3: clinic: the table files was changed"},
    {"UPDATE files SET digest = x'00'", "load 3: clinic: the table files was changed"},
    {"UPDATE files SET path = 1 WHERE path = (SELECT min(path) FROM files)",
     "load 3: clinic: the table files was changed"},
    {"UPDATE files SET site = 1", "load 3: operators: the table files was changed"},
    {"UPDATE files SET size = size + 1", "load 3: clinic: the table files was changed"},
    {"UPDATE files SET size = 0", "load 3: clinic: the table files was changed"},
    {"DELETE FROM files", "load 3: clinic: the table files was changed"},
    {"UPDATE standing SET last_n = 9", "load 2: clinic, cleaning: the table standing was changed"},
    {"UPDATE standing SET records = 1 WHERE records = 2", "load 3: clinic, tests: the table standing was changed"},
    {"UPDATE standing SET span = span + 1", "load 2: clinic, cleaning: the table standing was changed"},
    {"UPDATE standing SET digest = x'00' WHERE records = 2", "load 3: clinic, tests: the table standing was changed"},
    {"UPDATE standing SET kind = 99 WHERE records = 2", "load 3: clinic, tests: "},
    {"UPDATE standing SET site = 1 WHERE records = 2", "load 3: "},
    {"DELETE FROM standing", "load 2: clinic, cleaning: a record's file or line was changed"},
    {"INSERT INTO standing SELECT site, 1, 0, 1, 1, digest FROM standing LIMIT 1",
     "load 3: clinic, operators: the table standing was changed"},
    {"UPDATE refusals SET reason = 'none'", "load 2: clinic: the table refusals was changed"},
    {"UPDATE refusals SET cells = x'01'", "load 2: clinic: the table refusals was changed"},
    {"DELETE FROM refusals", "load 2: clinic: the table refusals was changed"},
    {"UPDATE refusals SET path = 1", "load 2: clinic: the table refusals was changed"},
    {"INSERT INTO refusals SELECT site, 1, line, place, nature, \"column\", value, reason, cells FROM refusals",
     "clinic: the table refusals or warnings has rows of a file that was not loaded"},
    {"UPDATE warnings SET text = ''", "load 1: clinic: the table warnings was changed"},
    {"DELETE FROM warnings", "load 1: clinic: the table warnings was changed"},
    {"UPDATE loads SET day = day + 1 WHERE load = 2", "load 2: its head does not follow"},
    {"UPDATE loads SET head = 'ab' WHERE load = 3", "load 3: its head does not follow"},
    {"DELETE FROM loads WHERE load = 1", "links: a link of load 1, which there is not"},
    {"DELETE FROM loads WHERE load = 3", "links: a link of load 3, which there is not"},
    {"UPDATE links SET digest = x'00' WHERE load = 2", "load 2: its head does not follow"},
    {"DELETE FROM links WHERE load = 2", "load 2: its head does not follow"},
    {"DELETE FROM links WHERE load = 0", "the table audits was changed"},
    {"INSERT INTO links VALUES(1, 1, 1, 3, x'00')", "load 3: its head does not follow"},
    {"INSERT INTO links VALUES(1, 1, 1, 7, x'00')", "links: a link of load 7"},
    {"UPDATE audits SET as_of = 9999 WHERE audit = 1", "the table audits was changed"},
    {"UPDATE audits SET audit = 7 WHERE audit = 1", "the table audits was changed"},
    {"DELETE FROM audits WHERE audit = 2", "the table audits was changed"},
    {"DELETE FROM audit_findings WHERE number = 'F-2'", "the table audit_findings was changed"},
    {"UPDATE audit_findings SET site = 'x'", "the table audit_findings was changed"},
    {"INSERT INTO audit_findings(number, audit, site) VALUES('F-3', 1, 'clinic')",
     "the table audit_findings was changed"},
    {"INSERT INTO audit_findings(number, audit, site) VALUES('F-3', 8, 'clinic')",
     "the table audit_findings was changed"},
    {"UPDATE audit_findings SET state = 'answered' WHERE audit = 1 AND number = 'F-1'",
     "the table audit_findings was changed"},
    {"UPDATE audit_findings SET state = NULL", "the table audit_findings was changed"},
    {"UPDATE audit_findings SET subject = rule, rule = NULL", "the table audit_findings was changed"},
    {"UPDATE audit_findings SET first_day = 9102", "the table audit_findings was changed"},
    {"UPDATE audit_findings SET last_day = NULL", "the table audit_findings was changed"},
    {"UPDATE audit_findings SET first_day = last_day, last_day = first_day", "the table audit_findings was changed"},
    {"UPDATE audits SET sums = NULL WHERE audit = 1", "the table audits was changed"},
    {"UPDATE audit_sites SET vouched = 90", "the table audit_sites was changed"},
    {"UPDATE audit_sites SET site = 'x'", "the table audit_sites was changed"},
    {"DELETE FROM audit_sites", "the table audit_sites was changed"},
    {"INSERT INTO audit_sites VALUES(2, 'clinic', 9, 9)", "the table audit_sites was changed"},
    {"INSERT INTO audit_sites VALUES(8, 'clinic', 9, 9)", "the table audit_sites was changed"},
};

static void write_bytes(const char *path, const struct file_bytes *bytes)
{
    FILE *file = fopen(path, "w");
    cr_assert_not_null(file);
    cr_assert_eq(fwrite(bytes->data, 1, bytes->size, file), bytes->size);
    fclose(file);
}

Test(verify, an_edit_of_any_table_is_named_at_the_load_that_does_not_fit)
{
    CLINIC clinic;
    struct file_bytes whole;
    fill(&clinic);
    cr_assert(file_read(clinic.store_path, NULL, &whole, NULL));
    for (size_t i = 0; i < sizeof edits / sizeof *edits; i++) {
        write_bytes(clinic.store_path, &whole);
        clinic_edit(&clinic, edits[i].edit);
        const char *found = clinic_break(&clinic);
        cr_expect_eq(strncmp(found, edits[i].found, strlen(edits[i].found)), 0, "%s: %s", edits[i].edit, found);
    }
    memory_free(whole.data);
}

/* A load reads again only the spans of time that it changes: an edit elsewhere shows after it as before. */
Test(verify, an_edit_of_where_a_record_stands_shows_after_the_next_load_too)
{
    CLINIC clinic;
    fill(&clinic);
    clinic_edit_sealed(&clinic, "UPDATE tests SET line = 7 WHERE test = 'T2'");
    clinic_put(&clinic, "records/tests.csv",
               TESTS "T2,2026-10-05 09:10,A1,op1,S2,L1,6.1,\nT1,2026-10-05 09:00,A1,op1,S1,L1,5.4,\n"
                     "T3,2026-12-05 09:00,A1,op1,S3,L1,5.4,\n");
    clinic_load_edited(&clinic, "2027-02-08");
    cr_expect_eq(clinic.report->kinds[KIND_TESTS].added, 1);
    EXPECT_TEXT(clinic_break(&clinic), "load 4: clinic, tests: a record's file or line was changed since");
}

/* Whoever recomputes the head of the last load can only do so with another head: a report that names the old one tells
 * it. */
Test(verify, the_store_knows_the_heads_it_had)
{
    CLINIC clinic;
    struct fault fault = {.code = FAULT_NONE};
    bool had = false;
    fill(&clinic);
    AUTO(store) store = NULL;
    cr_assert(store_open(&store, clinic.store_path, STORE_READ, &fault));
    cr_expect(store_had_head(store, clinic_head(&clinic), &had, &fault) && had);
    cr_expect(store_had_head(store, "00", &had, &fault) && !had);
}

/* The head after two loads: the same logs, taken on the two days. */
static void head_of_two(const char *first, const char *second, char head[DIGEST_HEX_SIZE])
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/cleaning.csv", CLEANING "2026-10-05 08:00,A1,daily,op1\n");
    clinic_load(&clinic, first);
    clinic_put(&clinic, "records/tests.csv", TESTS "T1,2026-10-05 09:00,A1,op1,S1,L1,5.4,\n");
    clinic_load(&clinic, second);
    strcpy(head, clinic_head(&clinic));
}

Test(verify, a_load_depends_on_its_day_and_on_all_before_it)
{
    char head[DIGEST_HEX_SIZE], again[DIGEST_HEX_SIZE], later[DIGEST_HEX_SIZE], earlier_begun[DIGEST_HEX_SIZE];
    head_of_two("2026-10-06", "2026-10-08", head);
    head_of_two("2026-10-06", "2026-10-08", again);
    head_of_two("2026-10-06", "2026-10-09", later);
    head_of_two("2026-10-05", "2026-10-08",
                earlier_begun); /* the second loads are alike; only what was before is not */
    EXPECT_TEXT(again, head);
    cr_expect_str_neq(later, head);
    cr_expect_str_neq(earlier_begun, head);
}
