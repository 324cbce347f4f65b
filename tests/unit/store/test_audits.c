/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Audits kept: which findings were found before, and which audit came last. */
#include <string.h>

#include "clinic.h"

static const char *const first_numbers[] = {"F-A", "F-B"}, *const second_numbers[] = {"F-C"};
static const char *const sites[] = {"clinic", "clinic"};
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
    bool found = false;
    cr_assert(store_was_found(store, number, as_of, &found, NULL));
    return found;
}

static void keep(struct store *store, const struct audit_key *key, const char *const *numbers, size_t count)
{
    struct fault fault = {.code = FAULT_NONE};
    cr_assert(store_keep_audit(store, key, numbers, sites, count, NULL, 0, &fault), "%s", fault.text);
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
    keep(store, &october, first_numbers, 2);
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
    keep(store, &october, first_numbers, 2);
    keep(store, &october, second_numbers, 1);
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
    keep(store, &october, first_numbers, 2);
    keep(store, &november, second_numbers, 1);
    keep(store, &october, first_numbers, 2);
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
    keep(store, &october, first_numbers, 2);
    store_head(store, head);
    store_free(store);
    EXPECT_TEXT(clinic_head(&clinic), head);
    cr_assert(file_read(clinic.store_path, NULL, &before, NULL));
    store = store_of(&clinic);
    keep(store, &october, first_numbers, 2);
    store_free(store);
    cr_assert(file_read(clinic.store_path, NULL, &after, NULL));
    cr_expect(before.size == after.size && memcmp(before.data, after.data, after.size) == 0);
    memory_free(before.data);
    memory_free(after.data);
    EXPECT_TEXT(clinic_break(&clinic), "");
}

/* ---- sums ------------------------------------------------------------------------------------------------------ */

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
    cr_assert(store_keep_audit(store, &key, NULL, NULL, 0, sums, 2, &fault), "%s", fault.text);
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
    make_store(&clinic);
    struct store *store = store_of(&clinic);
    day_number august = first_of(2026, 8), september = first_of(2026, 9);
    struct audit_key key = {august, september - 1, 9900};
    keep(store, &key, first_numbers, 2);
    store_free(store);
    clinic_edit(&clinic, "DROP TABLE audit_sites; ALTER TABLE audits DROP COLUMN sums; PRAGMA user_version = 1;"
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
