/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Audits kept: which findings were found before, and which audit came last. */
#include <string.h>

#include "base/output.h"
#include "clinic.h"

static const struct kept_finding first_findings[] = {
    {TEXT("F-A"), TEXT("clinic"), TEXT("lots.expired"), TEXT("F-S"), TEXT("new"), 9771, 9795},
    {TEXT("F-B"), TEXT("clinic"), TEXT("lots.early"), TEXT("F-T"), TEXT("excused"), DAY_ABSENT, DAY_ABSENT}};
static const struct kept_finding bare_findings[] = {
    {TEXT("F-A"), TEXT("clinic"), {0}, {0}, {0}, DAY_ABSENT, DAY_ABSENT}};
static const struct kept_finding second_findings[] = {
    {TEXT("F-C"), TEXT("clinic"), TEXT("lots.expired"), TEXT("F-S"), TEXT("answered"), 9810, 9810}};
static const struct audit_key october = {9770, 9800, 9800}, november = {9801, 9830, 9830};

static struct store *store_of(const struct clinic *clinic)
{
    struct fault fault = {.code = FAULT_NONE};
    struct store *store = NULL;
    cr_assert(store_open(&store, clinic->store_path, STORE_WRITE, &fault), "%s", fault.text);
    return store;
}

static bool was_found(struct store *store, const char *number, day_number as_of)
{
    struct finding_past past;
    cr_assert(store_finding_past(store, number, as_of, &past, NULL));
    return past.found;
}

static void keep(struct store *store, const struct audit_key *key, const struct kept_finding *findings, size_t count)
{
    struct fault fault = {.code = FAULT_NONE};
    cr_assert(store_keep_audit(store, key, findings, count, NULL, 0, &fault), "%s", fault.text);
}

static void make_store(struct clinic *clinic)
{
    clinic_open(clinic);
    clinic_put(clinic, "records/operators.csv", "operator,started_on\nkim,2022-03-04\n");
    clinic_load(clinic, "2026-10-06");
}

Test(audits, a_finding_is_known_only_by_audits_of_an_earlier_as_of)
{
    CLINIC clinic;
    make_store(&clinic);
    AUTO(store) store = store_of(&clinic);
    keep(store, &october, first_findings, 2);
    cr_expect_not(was_found(store, "F-A", 9800), "by the same audit, made again");
    cr_expect_not(was_found(store, "F-A", 9700));
    cr_expect(was_found(store, "F-A", 9830));
    cr_expect_not(was_found(store, "F-Z", 9830));
}

Test(audits, an_audit_made_again_takes_the_place_of_the_one_before)
{
    CLINIC clinic;
    make_store(&clinic);
    AUTO(store) store = store_of(&clinic);
    keep(store, &october, first_findings, 2);
    keep(store, &october, second_findings, 1);
    cr_expect_not(was_found(store, "F-A", 9900));
    cr_expect(was_found(store, "F-C", 9900));
}

Test(audits, the_audit_kept_last_is_the_last_also_if_its_period_is_earlier)
{
    CLINIC clinic;
    struct audit_key last;
    bool there = true;
    make_store(&clinic);
    AUTO(store) store = store_of(&clinic);
    cr_assert(store_last_audit(store, &last, &there, NULL));
    cr_expect_not(there);
    keep(store, &october, first_findings, 2);
    keep(store, &november, second_findings, 1);
    keep(store, &october, first_findings, 2);
    cr_assert(store_last_audit(store, &last, &there, NULL) && there);
    cr_expect_eq(memcmp(&last, &october, sizeof last), 0);
}

Test(audits, the_same_audit_twice_changes_no_byte_and_no_audit_changes_the_head)
{
    CLINIC clinic;
    struct file_bytes before, after;
    char head[DIGEST_HEX_SIZE];
    make_store(&clinic);
    struct store *store = store_of(&clinic);
    keep(store, &october, first_findings, 2);
    store_head(store, head);
    store_free(store);
    EXPECT_TEXT(clinic_head(&clinic), head);
    cr_assert(file_read(clinic.store_path, NULL, &before, NULL));
    store = store_of(&clinic);
    keep(store, &october, first_findings, 2);
    store_free(store);
    cr_assert(file_read(clinic.store_path, NULL, &after, NULL));
    cr_expect(before.size == after.size && memcmp(before.data, after.data, after.size) == 0);
    memory_free(before.data);
    memory_free(after.data);
    EXPECT_TEXT(clinic_break(&clinic), "");
}

/* ---- sums ---- */

static day_number first_of(int year, int month)
{
    day_number day = DAY_ABSENT;
    cr_assert(day_from_civil((struct civil){year, month, 1}, &day));
    return day;
}

static void keep_sums(struct store *store, day_number from, day_number to, day_number as_of, struct audit_sum sum)
{
    struct fault fault = {.code = FAULT_NONE};
    struct audit_key key = {from, to, as_of};
    const struct audit_sum sums[] = {{TEXT("annex"), 7, 7}, sum};
    cr_assert(store_keep_audit(store, &key, NULL, 0, sums, 2, &fault), "%s", fault.text);
}

Test(audits, the_trend_takes_the_latest_audit_of_each_whole_month)
{
    CLINIC clinic;
    make_store(&clinic);
    AUTO(store) store = store_of(&clinic);
    day_number august = first_of(2026, 8), september = first_of(2026, 9), tenth = first_of(2026, 10);
    keep_sums(store, august, september - 1, 9900, (struct audit_sum){TEXT("clinic"), 100, 90});
    keep_sums(store, august, september - 1, 9800, (struct audit_sum){TEXT("clinic"), 100, 80});
    keep_sums(store, august, tenth - 1, 9900, (struct audit_sum){TEXT("clinic"), 300, 1});
    keep_sums(store, september, tenth - 2, 9900, (struct audit_sum){TEXT("clinic"), 90, 2});
    keep_sums(store, tenth, tenth + 30, 9900, (struct audit_sum){TEXT("other"), 5, 5});
    struct audit_month months[] = {{.from = first_of(2026, 7)}, {.from = august}, {.from = september}, {.from = tenth}};
    cr_assert(store_trend(store, TEXT("clinic"), months, 4, NULL));
    cr_expect_not(months[0].audited || months[2].audited || months[3].audited);
    cr_expect(months[1].audited && months[1].tests == 100 && months[1].vouched == 80, "kept last, whatever its as-of");
}

Test(audits, other_sums_of_the_same_audit_replace_those_before)
{
    CLINIC clinic;
    make_store(&clinic);
    AUTO(store) store = store_of(&clinic);
    day_number august = first_of(2026, 8), september = first_of(2026, 9);
    keep_sums(store, august, september - 1, 9900, (struct audit_sum){TEXT("clinic"), 100, 90});
    keep_sums(store, august, september - 1, 9900, (struct audit_sum){TEXT("clinic"), 100, 99});
    struct audit_month month = {.from = august};
    cr_assert(store_trend(store, TEXT("clinic"), &month, 1, NULL));
    cr_expect_eq(month.vouched, 99);
    EXPECT_TEXT(clinic_break(&clinic), "");
}

/* Schema 1 had no sums. Its audits stay whole, read as they are and after the migration, and are months without. */
Test(audits, a_store_of_schema_1_is_read_and_migrated)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put_older(&clinic);
    struct store *store = store_of(&clinic);
    day_number august = first_of(2026, 8), september = first_of(2026, 9);
    struct audit_key key = {august, september - 1, 9900};
    keep(store, &key, bare_findings, 1);
    store_free(store);
    clinic_edit(&clinic,
                "DROP TABLE seal; DROP TABLE audit_sites; DROP TABLE standing; ALTER TABLE files DROP COLUMN size; "
                "ALTER TABLE audits DROP COLUMN sums;"
                " ALTER TABLE audit_findings DROP COLUMN rule; ALTER TABLE audit_findings DROP COLUMN subject;"
                " ALTER TABLE audit_findings DROP COLUMN state; ALTER TABLE audit_findings DROP COLUMN first_day;"
                " ALTER TABLE audit_findings DROP COLUMN last_day; PRAGMA user_version = 1;"
                " UPDATE audits SET first = first");
    EXPECT_TEXT(clinic_break(&clinic), "");
    struct audit_month month = {.from = august};
    cr_assert(store_open(&store, clinic.store_path, STORE_READ, NULL));
    cr_expect(store_trend(store, TEXT("clinic"), &month, 1, NULL));
    cr_expect_not(month.audited);
    store_free(store);
    store = store_of(&clinic);
    EXPECT_TEXT(clinic_break(&clinic), "");
    cr_expect(was_found(store, "F-A", 9950));
    keep_sums(store, august, september - 1, 9950, (struct audit_sum){TEXT("clinic"), 100, 90});
    cr_expect(store_trend(store, TEXT("clinic"), &month, 1, NULL));
    cr_expect(month.audited && month.vouched == 90);
    store_free(store);
    EXPECT_TEXT(clinic_break(&clinic), "");
}

/* ---- what became of findings ---- */

static void note_finding(void *context, const struct kept_finding *finding)
{
    output_print(context, "%.*s %.*s %.*s %.*s\n", TEXT_FORMAT(finding->number), TEXT_FORMAT(finding->site),
                 TEXT_FORMAT(finding->rule), TEXT_FORMAT(finding->state));
}

Test(audits, the_audit_before_is_the_latest_of_an_earlier_as_of)
{
    CLINIC clinic;
    static const struct audit_key again = {9770, 9800, 9840}, december = {9831, 9861, 9861};
    struct audit_key before;
    bool there;
    make_store(&clinic);
    AUTO(store) store = store_of(&clinic);
    AUTO(output) listed = output_memory();
    keep(store, &november, second_findings, 1);
    keep(store, &october, first_findings, 2);
    cr_assert(store_audit_before(store, &october, false, &before, &there, NULL) && !there);
    cr_assert(store_audit_before(store, &december, false, &before, &there, NULL) && there);
    cr_expect_eq(memcmp(&before, &november, sizeof before), 0, "though october was kept last");
    cr_assert(store_audit_before(store, &again, true, &before, &there, NULL) && there);
    cr_expect_eq(memcmp(&before, &october, sizeof before), 0, "the same period");
    cr_assert(store_audit_findings(store, &before, note_finding, listed, NULL));
    cr_expect(text_is(output_taken(listed), "F-B clinic lots.early excused\nF-A clinic lots.expired new\n"));
}

/* What is known of the days first to last. */
static void expect_of_days(struct store *store, day_number first, day_number last, const char *numbers)
{
    AUTO(output) listed = output_memory();
    cr_assert(store_findings_of_days(store, first, last, note_finding, listed, NULL));
    struct text taken = output_taken(listed);
    cr_expect(text_is(taken, numbers), "%d to %d: %.*s", (int)first, (int)last, TEXT_FORMAT(taken));
}

Test(audits, what_was_found_of_a_day_is_as_the_audit_says_that_looked_at_it_last)
{
    CLINIC clinic;
    static const struct audit_sum here = {TEXT("clinic"), 9, 9}, elsewhere = {TEXT("other"), 9, 9};
    static const char a[] = "F-A clinic lots.expired new\n";
    make_store(&clinic);
    AUTO(store) store = store_of(&clinic);
    cr_assert(store_keep_audit(store, &october, first_findings, 2, &here, 1, NULL));
    expect_of_days(store, 9770, 9799, a);
    expect_of_days(store, 9795, 9830, a);
    expect_of_days(store, 9772, 9794, "");
    keep_sums(store, 9770, 9775, 9775, elsewhere); /* did not look at the site */
    keep_sums(store, 9772, 9790, 9790, here);      /* nor this one at the days */
    keep_sums(store, 9790, 9800, 9794, here);      /* nor this one, by its as-of */
    expect_of_days(store, 9770, 9799, a);
    keep_sums(store, 9770, 9790, 9790, here);
    expect_of_days(store, 9770, 9794, "");
    expect_of_days(store, 9770, 9800, a);
    keep_sums(store, 9790, 9799, 9800, here);
    expect_of_days(store, 9770, 9800, "");
}

Test(audits, a_number_is_known_with_its_site_and_the_day_it_was_first_seen)
{
    CLINIC clinic;
    static const struct audit_key again = {9770, 9800, 9840};
    struct finding_past past;
    struct kept_finding kept;
    bool there;
    make_store(&clinic);
    AUTO(store) store = store_of(&clinic);
    AUTO(arena) arena = arena_new();
    keep(store, &again, first_findings, 2);
    keep(store, &october, first_findings, 1);
    cr_assert(store_finding_past(store, "F-A", 9900, &past, NULL) && past.found);
    cr_expect_eq(past.first_as_of, 9800);
    cr_assert(store_finding_past(store, "F-A", 9800, &past, NULL) && !past.found);
    cr_assert(store_kept_finding(store, "F-A", arena, &kept, &there, NULL) && there);
    cr_expect(text_is(kept.site, "clinic") && text_is(kept.subject, "F-S"));
    cr_assert(store_kept_finding(store, "F-Z", arena, &kept, &there, NULL) && !there);
}
