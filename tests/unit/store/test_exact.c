/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Loading again is cheap and exact: whatever happens to the files, a store that parses only what changed says the same
 * as one that parses every file each time. Random histories of three files, from a fixed seed. */
#include <stdio.h>
#include <string.h>

#include "clinic.h"

#define HEADER "test,performed_at,analyzer,operator,specimen,lot,result,note\n"

enum { FILES = 3, ROWS_MOST = 5, LOG_SIZE = 2000, HISTORIES = 5, LOADS = 15 };

struct dice {
    uint64_t state;
};

/* Knuth's MMIX constants for a linear congruential generator; the high bits are the good ones. */
static unsigned throw_die(struct dice *dice, unsigned sides)
{
    dice->state = dice->state * 6364136223846793005u + 1442695040888963407u;
    return (unsigned)(dice->state >> 33) % sides;
}

/* A row of one of four tests: with one of two results, spelled in two ways, with or without a note, or one that is
 * refused. */
static void append_row(struct dice *dice, char *log)
{
    static const char *const results[] = {"5.4", "5.40", "6.0", "6"};
    unsigned test = throw_die(dice, 4), fault = throw_die(dice, 12);
    char id[8];
    snprintf(id, sizeof id, fault == 0 ? "" : "T%u", test);
    sprintf(log + strlen(log), "%s,%s:0%u,A1,%s,S%u,L1,%s,%s\n", id, fault == 1 ? "soon" : "2026-10-05 09", test,
            fault == 2 ? "" : "op1", test, results[throw_die(dice, 4)], throw_die(dice, 3) == 0 ? "seen" : "");
}

static void make_log(struct dice *dice, char *log)
{
    unsigned fate = throw_die(dice, 10);
    strcpy(log, fate == 0 ? "test,performed_at\n" : HEADER);
    for (unsigned i = throw_die(dice, ROWS_MOST + 1); i > 0; i--)
        append_row(dice, log);
    if (fate == 1)
        strcat(log, "T1,\"2026-10-05 09:01,A1,op1,S1,L1,5.4\n");
    if (fate == 2)
        *log = '\0'; /* stands for: there is no such file */
}

/* Blanks before the header change a file's content from its beginning, and nothing that it says. */
static void put_log(const struct clinic *clinic, int file, const char *log, int blanks)
{
    char path[40], whole[LOG_SIZE + LOADS + 1], there[120];
    snprintf(path, sizeof path, "records/tests-%d.csv", file);
    snprintf(there, sizeof there, "%s/%s", clinic->path, path);
    if (*log == '\0') {
        remove(there);
        return;
    }
    snprintf(whole, sizeof whole, "%*s%s", blanks, "", log);
    clinic_put(clinic, path, whole);
}

static void expect_same(struct clinic *one, struct clinic *other)
{
    EXPECT_TEXT(clinic_rows(one, KIND_TESTS), clinic_rows(other, KIND_TESTS));
    EXPECT_TEXT(clinic_changes(one), clinic_changes(other));
    EXPECT_TEXT(clinic_refusals(one), clinic_refusals(other));
    EXPECT_TEXT(clinic_warnings(one), clinic_warnings(other));
    EXPECT_TEXT(clinic_counts(one, KIND_TESTS), clinic_counts(other, KIND_TESTS));
}

Test(exact, a_store_that_parses_what_changed_says_what_one_says_that_parses_everything)
{
    size_t unchanged = 0;
    for (int history = 0; history < HISTORIES; history++) {
        CLINIC changed, all;
        struct dice dice = {(uint64_t)history + 1};
        char logs[FILES][LOG_SIZE] = {"", "", ""};

        clinic_open(&changed);
        clinic_open(&all);
        for (int load = 0; load < LOADS; load++) {
            char today[DAY_TEXT_SIZE];
            day_print(9800 + load, today);
            make_log(&dice, logs[throw_die(&dice, FILES)]);
            for (int file = 0; file < FILES; file++) {
                put_log(&changed, file, logs[file], 0);
                put_log(&all, file, logs[file], load);
            }
            clinic_load(&changed, today);
            clinic_load(&all, today);
            unchanged += changed.report->kinds[KIND_TESTS].files_unchanged;
            cr_expect_eq(all.report->kinds[KIND_TESTS].files_unchanged, 0);
            expect_same(&changed, &all);
        }
    }
    cr_expect_gt(unchanged, HISTORIES * LOADS, "a load leaves more than one file as it is, mostly");
}
