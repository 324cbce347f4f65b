/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A site folder for the tests of the store: its logs are written as texts, and what the store then has is read as text.
 */
#ifndef ASSIZE_TESTS_CLINIC_H
#define ASSIZE_TESTS_CLINIC_H

#include <criterion/criterion.h>

#include "store/load.h"

struct clinic {
    char path[64];
    char store_path[80];
    struct load_report *report; /* of the last load */
    char *text;                 /* of the last question */
};

void clinic_open(struct clinic *clinic); /* in a new folder */
void clinic_close(struct clinic *clinic);
#define CLINIC __attribute__((cleanup(clinic_close))) struct clinic

/* Writes a file, its folders too; NULL removes it. */
void clinic_put(const struct clinic *clinic, const char *path, const char *text);

/* Loads as `assize load` does. The test fails if the load does, if the chain is not whole after it, or if anything but
 * assize.db is left of the store's files. */
void clinic_load(struct clinic *clinic, const char *today);
/* The same where verify is not to be asked afterwards: of a store that was edited. */
void clinic_load_edited(struct clinic *clinic, const char *today);

/* What the last load did with a kind: "read 3, new 1, refused 1"; counts of nought are left out. */
const char *clinic_counts(struct clinic *clinic, enum kind_id kind);
/* The current records, one a line: the cells that are present, divided by blanks, then "@records/tests.csv:2". */
const char *clinic_rows(struct clinic *clinic, enum kind_id kind);
/* One a line: "amended tests T1 on 2026-10-02, noted, @records/tests.csv:2". */
const char *clinic_changes(struct clinic *clinic);
/* Of the last load, one a line. */
const char *clinic_refusals(struct clinic *clinic);
const char *clinic_warnings(struct clinic *clinic);
const char *clinic_head(struct clinic *clinic);

/* Runs SQL on the store, as the sqlite3 shell would. */
void clinic_edit(const struct clinic *clinic, const char *sql);
/* The same by somebody who knows of the seal: loads do not notice it. */
void clinic_edit_sealed(const struct clinic *clinic, const char *sql);

/* Logs of operators and tests (T1, T2), and the store that a release with schema 3 made of them on 2026-10-06. */
void clinic_put_older(const struct clinic *clinic);

/* The first break of the chain, "" if it is whole. */
const char *clinic_break(struct clinic *clinic);

#define EXPECT_TEXT(actual, expected)                                        \
    do {                                                                     \
        const char *actual_text = (actual);                                  \
        cr_expect_str_eq(actual_text, (expected), "found: %s", actual_text); \
    } while (0)

#endif
