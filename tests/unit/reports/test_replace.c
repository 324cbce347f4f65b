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

static const char *path_of(const char *folder, const char *file) /* lives until the next one but two */
{
    static char paths[3][200];
    static size_t next;
    char *path = paths[next++ % 3];
    snprintf(path, sizeof *paths, "%s/%s", folder, file);
    return path;
}

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
    static const struct text head = TEXT("00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff");
    struct fault fault = {.code = FAULT_NONE};
    for (size_t i = 0; i < 3; i++)
        put(folder, files[i], content);
    const struct manifest_contents contents = {files, 3, &head, 1, {{0}}};
    cr_assert(manifest_write(folder, &contents, &fault), "%s", fault.text);
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
    put(folder, "my notes.txt", "mine");
    cr_assert_eq(unlink(path_of(aside, "hill/summary.html")), 0);
    cr_expect_not(report_replace(folder, aside, new_files, 3, &fault));
    cr_expect_eq(fault.code, FAULT_FILE);
    cr_expect(is_whole(folder) && says(folder, "findings.csv", "old") && says(folder, "mill/fixlist.html", "old"));
    cr_expect(says(folder, "my notes.txt", "mine"));
    cr_expect_eq(links_of(folder), 4);
    cr_expect_eq(links_of(base), 3);
    aside_remove(base);
}

/* What of the report is not its own, or has become somebody's. */
static const struct {
    const char *file, *content,
        *link; /* what is put there; or where a link that is made there leads, from the folder */
} foreign[] = {
    {"findings.csv", "edited", NULL},  {"hill/fixlist.html", "edited", NULL},
    {"hill/summary.html", "", NULL},   {"hill/summary.html/mine.txt", "mine", NULL},
    {"manifest.txt", "a list", NULL},  {"hill/summary.html", NULL, "mill/fixlist.html"},
    {"hill/summary.html", NULL, "no"},
};

Test(replace, what_is_not_the_old_reports_own_is_never_replaced)
{
    for (size_t i = 0; i < sizeof foreign / sizeof *foreign; i++) {
        char base[40], folder[60], aside[80];
        struct fault fault = {.code = FAULT_NONE};
        begin(base, folder, aside);
        if (foreign[i].link == NULL)
            put(folder, foreign[i].file, foreign[i].content);
        else
            cr_assert_eq(symlink(path_of(folder, foreign[i].link), path_of(folder, foreign[i].file)), 0);
        cr_expect_not(report_replace(folder, aside, new_files, 3, &fault), "%s", foreign[i].file);
        cr_expect_eq(fault.code, FAULT_FILE);
        cr_expect_not_null(strstr(fault.text, "was changed after it was written, or is no report"), "%s", fault.text);
        cr_expect(says(folder, "mill/fixlist.html", "old"));
        cr_expect(foreign[i].content == NULL || says(folder, foreign[i].file, foreign[i].content));
        cr_expect_eq(links_of(folder), 4, "nothing is left of the new one");
        aside_remove(base);
    }
}

Test(replace, a_file_that_the_new_report_does_not_have_stays_if_it_was_edited)
{
    char base[40], folder[60], aside[80];
    struct fault fault = {.code = FAULT_NONE};
    begin(base, folder, aside);
    put(folder, "mill/fixlist.html", "edited");
    cr_expect(report_replace(folder, aside, new_files, 3, &fault), "%s", fault.text);
    cr_expect(!is_whole(folder) && says(folder, "mill/fixlist.html", "edited"));
    aside_remove(base);
}

static void move(const char *from, const char *to, const char *file)
{
    cr_assert_eq(rename(path_of(from, file), path_of(to, file)), 0, "%s", file);
}

/* The steps of replacing one by one, as far as `steps`, by a process that is gone. */
static void begin_and_die(const char *folder, const char *aside, size_t steps)
{
    char old[120], left[100];
    snprintf(left, sizeof left, "%s/.new-2147483646", folder);
    cr_assert_eq(rename(aside, left), 0);
    snprintf(old, sizeof old, "%s/.old", left);
    if (steps > 0)
        cr_assert_eq(mkdir(old, 0777), 0);
    for (size_t i = 0; i < 3; i++) {
        if (strchr(new_files[i], '/') != NULL && steps > 0)
            mkdir(path_of(old, "hill"), 0777);
        if (steps > 1 + 2 * i && i < 2)
            move(folder, old, new_files[i]);
        if (steps > 2 + 2 * i)
            move(left, folder, new_files[i]);
    }
    if (steps > 7) {
        cr_assert_eq(mkdir(path_of(old, "mill"), 0777), 0);
        move(folder, old, "mill/fixlist.html");
    }
    if (steps > 8)
        move(folder, old, "manifest.txt");
    if (steps > 9)
        move(left, folder, "manifest.txt");
}

Test(replace, wherever_the_process_before_was_killed_there_is_one_whole_report_afterwards)
{
    for (size_t steps = 0; steps <= 10; steps++) {
        char base[40], folder[60], aside[80];
        struct fault fault = {.code = FAULT_NONE};
        begin(base, folder, aside);
        put(folder, "my notes.txt", "mine");
        begin_and_die(folder, aside, steps);
        cr_expect(report_clean(folder, &fault), "%s", fault.text);
        cr_expect(is_whole(folder), "%zu", steps);
        cr_expect(says(folder, "findings.csv", steps > 9 ? "new" : "old"), "%zu", steps);
        cr_expect(says(folder, "hill/summary.html", steps > 9 ? "new" : NULL), "%zu", steps);
        cr_expect(says(folder, "my notes.txt", "mine"));
        cr_expect_not(access(path_of(folder, ".new-2147483646"), F_OK) == 0);
        put_report(aside, new_files, "newer");
        cr_expect(report_replace(folder, aside, new_files, 3, &fault), "%zu: %s", steps, fault.text);
        cr_expect(is_whole(folder) && says(folder, "findings.csv", "newer"));
        aside_remove(base);
    }
}

/* Whoever can make such a leftover can write here; but what it names is not removed by us. */
Test(replace, what_a_leftover_names_is_not_taken_back_unless_its_bytes_are_the_reports)
{
    char base[40], folder[60], aside[80];
    struct fault fault = {.code = FAULT_NONE};
    begin(base, folder, aside);
    begin_and_die(folder, aside, 1);
    put(folder, "hill/summary.html", "mine");
    cr_assert_eq(unlink(path_of(folder, ".new-2147483646/hill/summary.html")), 0);
    cr_expect(report_clean(folder, &fault), "%s", fault.text);
    cr_expect(says(folder, "hill/summary.html", "mine"));
    aside_remove(base);
}

Test(replace, leftovers_are_removed_only_where_their_process_is_gone)
{
    char base[40], folder[60], aside[80];
    struct fault fault = {.code = FAULT_NONE};
    begin(base, folder, aside);
    put(folder, ".new-2147483646/findings.csv", "");
    put(folder, ".new-1/findings.csv", "");
    put(base, ".report.new-2147483646/findings.csv", "");
    put(base, ".report.new-1/findings.csv", "");
    put(base, ".report.new-17x", "");
    cr_expect(report_clean(folder, &fault), "%s", fault.text);
    cr_expect(says(folder, ".new-2147483646/findings.csv", NULL) &&
              says(base, ".report.new-2147483646/findings.csv", NULL));
    cr_expect(says(folder, ".new-1/findings.csv", "") && says(base, ".report.new-1/findings.csv", ""));
    cr_expect(says(base, ".report.new-17x", "") && is_whole(folder));
    cr_expect(says(aside, "findings.csv", NULL), "one of this process's number is of another");
    aside_remove(base);
}
