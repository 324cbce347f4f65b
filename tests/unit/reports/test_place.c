/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/place.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/aside.h"
#include "put.h"

static char base[40];

/* A program with one site, and links in its reports/ that lead to bad places and to a good one. */
static void make_program(void)
{
    static const char *const files[] = {
        "p/program.yaml",         "p/methods/meter.yaml",           "p/rules/own.lua",
        "p/sites/east/site.yaml", "p/sites/east/records/tests.csv", "p/reports/kept.txt",
        "elsewhere/kept.txt"};
    static const char *const links[][2] = {{"p/reports/up", ".."},
                                           {"p/reports/logs", "../sites/east/records"},
                                           {"p/reports/away", "../../elsewhere"},
                                           {"elsewhere/back", "../p/methods"}};
    strcpy(base, "/tmp/assize-test-XXXXXX");
    cr_assert_not_null(mkdtemp(base));
    for (size_t i = 0; i < sizeof files / sizeof *files; i++)
        put(base, files[i], "");
    for (size_t i = 0; i < sizeof links / sizeof *links; i++) {
        char path[100];
        snprintf(path, sizeof path, "%s/%s", base, links[i][0]);
        cr_assert_eq(symlink(links[i][1], path), 0);
    }
}

static const struct {
    const char *report;
    bool good_for_program, good_for_site;
} rows[] = {
    {"p/reports/2026-10", true, true},
    {"p/reports", true, true},
    {"p/out/deep/2026-10", true, true},
    {"elsewhere", true, true},
    {"elsewhere/2026-10", true, true},
    {"p/reports/away", true, true},
    {"p/reports/away/2026-10", true, true},
    {"p/sites/east/reports/2026-10", true, true},
    {"p/records-of-2026", true, true},
    {"p", false, false},
    {"p/", false, false},
    {"p/.", false, false},
    {"", false, false},
    {"p/reports/..", false, false},
    {"p/methods", false, false},
    {"p/rules/2026-10", false, false},
    {"p/sites", false, false},
    {"p/sites/west", false, false},
    {"p/sites/east", false, false},
    {"p/sites/east/records", false, false},
    {"p/sites/east/records/tests/2026", false, false},
    {"p/reports/up", false, false},
    {"p/reports/up/sites/west", false, false},
    {"p/reports/logs", false, false},
    {"p/reports/logs/2026-10", false, false},
    {"elsewhere/back/2026-10", false, false},
    {"p/none/../methods/2026-10", false, false},
    {"p/reports/../reports/2026-10", true, true},
    {"p/reports/../methods/2026-10", false, false},
    {"elsewhere/../p/sites/east/reports/2026-11", true, true},
    {"elsewhere/none/..", false, false},
};

static void check_rows(const char *of, bool is_program)
{
    AUTO(folder) folder = NULL;
    struct fault fault = {.code = FAULT_NONE};
    char path[100];
    snprintf(path, sizeof path, "%s/%s", base, of);
    cr_assert(folder_open(&folder, path, &fault), "%s", fault.text);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bool good = is_program ? rows[i].good_for_program : rows[i].good_for_site;
        fault = (struct fault){.code = FAULT_NONE};
        snprintf(path, sizeof path, "%s/%s", base, rows[i].report);
        cr_expect_eq(report_place_check(path, folder, &fault), good, "%s of %s", rows[i].report, of);
        cr_expect_eq(fault.code, good ? FAULT_NONE : FAULT_USAGE);
    }
}

Test(place, a_report_is_not_written_over_the_records_it_is_made_from)
{
    make_program();
    check_rows("p", true);
    check_rows("p/sites/east", false);
    aside_remove(base);
}
