/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/replace.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/aside.h"
#include "put.h"
#include "reports/manifest.h"

static const char *const old_files[] = {"findings.csv", "hill/fixlist.html", "mill/fixlist.html"};
static const char *const new_files[] = {"findings.csv", "hill/fixlist.html", "hill/summary.html"};

static bool says(const char *folder, const char *file, const char *content)
{
    char path[200], found[20] = "";
    snprintf(path, sizeof path, "%s/%s", folder, file);
    FILE *stream = fopen(path, "r");
    if (stream == NULL)
        return content == NULL;
    size_t size = fread(found, 1, sizeof found - 1, stream);
    fclose(stream);
    return content != NULL && strlen(content) == size && memcmp(found, content, size) == 0;
}

static void put_report(const char *folder, const char *const files[3], const char *content)
{
    struct fault fault = {.code = FAULT_NONE};
    for (size_t i = 0; i < 3; i++)
        put(folder, files[i], content);
    cr_assert(manifest_write(folder, files, 3, NULL, 0, NULL, 0, &fault), "%s", fault.text);
}

static bool is_whole(const char *folder)
{
    struct manifest_check check;
    struct fault fault = {.code = FAULT_NONE};
    return manifest_verify(folder, &check, &fault) && check.whole && check.files == 3;
}

/* An old report in BASE/report and a new one aside, in the folder that this process writes in. */
static void begin(char base[40], char folder[60], char aside[80])
{
    strcpy(base, "/tmp/assize-test-XXXXXX");
    cr_assert_not_null(mkdtemp(base));
    snprintf(folder, 60, "%s/report", base);
    snprintf(aside, 80, "%s/.new-%ld", folder, (long)getpid());
    put_report(folder, old_files, "old");
    put_report(aside, new_files, "new");
}

static size_t links_of(const char *folder) /* its folders, and two */
{
    struct stat status;
    return stat(folder, &status) == 0 ? (size_t)status.st_nlink : 0;
}

Test(replace, the_new_report_is_there_and_of_the_old_one_nothing)
{
    char base[40], folder[60], aside[80];
    struct fault fault = {.code = FAULT_NONE};
    begin(base, folder, aside);
    chmod(folder, 0750);
    cr_expect(report_replace(folder, aside, new_files, 3, &fault), "%s", fault.text);
    cr_expect(is_whole(folder) && says(folder, "findings.csv", "new") && says(folder, "hill/summary.html", "new"));
    cr_expect(says(folder, "mill/fixlist.html", NULL));
    cr_expect_eq(links_of(folder), 3, "one site's folder");
    cr_expect_eq(links_of(base), 3, "nothing is left beside the report");
    struct stat status;
    cr_expect(stat(folder, &status) == 0 && (status.st_mode & 07777) == 0750, "who may read it stays");
    aside_remove(base);
}

Test(replace, what_else_lies_in_the_folder_stays_there)
{
    char base[40], folder[60], aside[80];
    struct fault fault = {.code = FAULT_NONE};
    begin(base, folder, aside);
    put(folder, "mill/my notes.txt", "mine");
    cr_expect(report_replace(folder, aside, new_files, 3, &fault), "%s", fault.text);
    cr_expect(is_whole(folder) && says(folder, "findings.csv", "new"));
    cr_expect(says(folder, "mill/my notes.txt", "mine") && says(folder, "mill/fixlist.html", NULL));
    cr_expect_eq(links_of(folder), 4);
    cr_expect_eq(links_of(base), 3);
    aside_remove(base);
}

Test(replace, when_a_step_fails_the_old_report_is_whole_again)
{
    char base[40], folder[60], aside[80];
    struct fault fault = {.code = FAULT_NONE};
    begin(base, folder, aside);
    put(folder, "hill/summary.html/mine.txt", "mine");
    cr_expect_not(report_replace(folder, aside, new_files, 3, &fault));
    cr_expect_eq(fault.code, FAULT_FILE);
    cr_expect(is_whole(folder) && says(folder, "findings.csv", "old") && says(folder, "mill/fixlist.html", "old"));
    cr_expect(says(folder, "hill/summary.html/mine.txt", "mine"));
    cr_expect_eq(links_of(folder), 4);
    cr_expect_eq(links_of(base), 3);
    aside_remove(base);
}

Test(replace, leftovers_are_removed_only_where_their_process_is_gone)
{
    char base[40], folder[60], aside[80];
    begin(base, folder, aside);
    put(folder, ".new-2147483646/findings.csv", "");
    put(folder, ".new-1/findings.csv", "");
    put(base, ".report.new-2147483646/findings.csv", "");
    put(base, ".report.new-1/findings.csv", "");
    put(base, ".report.new-17x", "");
    report_clean(folder);
    cr_expect(says(folder, ".new-2147483646/findings.csv", NULL) &&
              says(base, ".report.new-2147483646/findings.csv", NULL));
    cr_expect(says(folder, ".new-1/findings.csv", "") && says(base, ".report.new-1/findings.csv", ""));
    cr_expect(says(base, ".report.new-17x", "") && is_whole(folder));
    cr_expect(says(aside, "findings.csv", NULL), "one of this process's number is of another");
    aside_remove(base);
}
