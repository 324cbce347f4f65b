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
    cr_assert(store_keep_audit(store, key, numbers, sites, count, &fault), "%s", fault.text);
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
