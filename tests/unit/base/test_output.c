/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700 /* mkdtemp, symlink */
#include <criterion/criterion.h>
#include <dirent.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/output.h"

static char folder[64];

static void go_to_new_folder(void)
{
    strcpy(folder, "/tmp/assize-output-XXXXXX");
    cr_assert_not_null(mkdtemp(folder));
    cr_assert_eq(chdir(folder), 0);
}

static int remove_one(const char *path, const struct stat *status, int kind, struct FTW *place)
{
    (void)status, (void)kind, (void)place;
    return remove(path);
}

static void remove_folder(void) { nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS); }

TestSuite(output, .init = go_to_new_folder, .fini = remove_folder);

static void write_file(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    cr_assert_not_null(file);
    fputs(text, file);
    fclose(file);
}

static void expect_file(const char *path, const char *text)
{
    char read[4096];
    FILE *file = fopen(path, "r");
    cr_assert_not_null(file, "%s is not there", path);
    read[fread(read, 1, sizeof read - 1, file)] = '\0';
    fclose(file);
    cr_expect_str_eq(read, text);
}

static int entries(const char *path)
{
    int count = -2; /* "." and ".." */
    DIR *open = opendir(path);
    cr_assert_not_null(open);
    while (readdir(open) != NULL)
        count++;
    closedir(open);
    return count;
}

Test(output, a_file_is_not_seen_before_it_is_whole)
{
    struct output *output;
    struct fault fault = {.code = FAULT_NONE};
    write_file("report.txt", "old");
    cr_assert(output_file(&output, "report.txt", &fault));
    output_print(output, "%d passed, ", 3);
    output_text(output, TEXT("and\0more"));
    output_text(output, text_of(NULL));
    expect_file("report.txt", "old");
    cr_expect_eq(entries("."), 2);
    cr_expect(output_close(output, &fault), "%s", fault.text);
    expect_file("report.txt", "3 passed, and");
    cr_expect_eq(entries("."), 1);
}

Test(output, an_output_that_is_given_up_leaves_nothing)
{
    struct output *output;
    write_file("report.txt", "old");
    cr_assert(output_file(&output, "report.txt", NULL));
    output_print(output, "half");
    output_free(output);
    expect_file("report.txt", "old");
    cr_expect_eq(entries("."), 1);
    output_free(NULL);
}

Test(output, parents_are_made)
{
    struct output *output;
    char absolute[128];
    snprintf(absolute, sizeof absolute, "%s/a/b//c/report.txt", folder);
    cr_assert(output_file(&output, absolute, NULL));
    cr_expect(output_close(output, NULL));
    expect_file("a/b/c/report.txt", "");
}

Test(output, a_file_that_cannot_be_written_is_a_fault_that_names_it)
{
    struct output *output = NULL;
    struct fault fault = {.code = FAULT_NONE};
    write_file("plain", "");
    cr_expect_not(output_file(&output, "plain/report.txt", &fault));
    cr_expect_eq(fault.code, FAULT_FILE);
    cr_expect_str_eq(fault.text, "plain/report.txt: cannot be written: Not a directory");

    fault.code = FAULT_NONE;
    cr_expect_not(output_file(&output, "plain/deeper/report.txt", &fault));
    cr_expect_str_eq(fault.text, "plain/deeper: cannot make the folder: Not a directory");

    fault.code = FAULT_NONE;
    mkdir("taken", 0777);
    write_file("taken/inside", "");
    cr_assert(output_file(&output, "taken", &fault));
    cr_expect_not(output_close(output, &fault));
    cr_expect_str_eq(fault.text, "taken: cannot be written: Is a directory");
    cr_expect_eq(entries("."), 2);
}

Test(output, a_full_disk_is_told_at_the_end_and_once)
{
    struct fault fault = {.code = FAULT_NONE};
    FILE *full = fopen("/dev/full", "w");
    cr_assert_not_null(full);
    setvbuf(full, NULL, _IONBF, 0);
    struct output *output = output_stream(full);
    output_print(output, "lost");
    output_text(output, TEXT("lost too"));
    cr_expect_not(output_close(output, &fault));
    cr_expect_str_eq(fault.text, "output: cannot be written: No space left on device");
    fclose(full);
}

Test(output, a_rename_that_fails_leaves_nothing_behind)
{
    struct output *output;
    struct fault fault = {.code = FAULT_NONE};
    cr_assert(output_file(&output, "report.txt", &fault));
    output_text(output, TEXT("new"));
    cr_assert_eq(mkdir("report.txt", 0700), 0); /* no file takes the place of a folder */
    cr_expect_not(output_close(output, &fault));
    cr_expect_not_null(strstr(fault.text, "report.txt: cannot be written: "), "%s", fault.text);
    cr_expect_eq(entries("."), 1);
}

Test(output, a_replaced_file_keeps_its_permissions)
{
    struct output *output;
    struct stat status;
    write_file("private.csv", "old");
    cr_assert_eq(chmod("private.csv", 0640), 0);
    cr_assert(output_file(&output, "private.csv", NULL));
    output_print(output, "new");
    cr_expect(output_close(output, NULL));
    cr_assert_eq(stat("private.csv", &status), 0);
    cr_expect_eq(status.st_mode & 0777, 0640);
    expect_file("private.csv", "new");
}

Test(output, a_link_stays_and_the_file_behind_it_is_replaced)
{
    struct output *output;
    struct stat status;
    mkdir("real", 0777);
    write_file("real/actions.csv", "old");
    cr_assert_eq(symlink("real/actions.csv", "actions.csv"), 0);
    cr_assert(output_file(&output, "actions.csv", NULL));
    output_print(output, "new");
    cr_expect(output_close(output, NULL));
    expect_file("real/actions.csv", "new");
    cr_assert_eq(lstat("actions.csv", &status), 0);
    cr_expect(S_ISLNK(status.st_mode));
}

Test(output, memory_takes_any_amount)
{
    AUTO(output) output = output_memory();
    cr_expect(text_is(output_taken(output), ""));
    for (int i = 0; i < 10000; i++)
        output_print(output, "%04d,", i);
    output_bytes(output, "\0end", 4);
    struct text taken = output_taken(output);
    cr_expect_eq(taken.size, 50004);
    cr_expect(text_starts(taken, "0000,0001,"));
    cr_expect_arr_eq(taken.data + 49995, "9999,\0end", 9);
}

static void expect_csv(const char *expected, const struct text *cells, size_t count)
{
    AUTO(output) output = output_memory();
    for (size_t i = 0; i < count; i++)
        csv_cell(output, i == 0, cells[i]);
    csv_row_end(output);
    struct text taken = output_taken(output);
    cr_expect(text_is(taken, expected), "%.*s", TEXT_FORMAT(taken));
}

/* Source: RFC 4180, section 2, rules 1 and 5 to 7. */
Test(output, csv_cells_are_quoted_where_the_standard_asks_for_it)
{
    expect_csv("aaa,\"b \"\"1\"\"\",\"c,d\",\"e\r\nf\",,\"\"\"\"\r\n",
               (struct text[]){TEXT("aaa"), TEXT("b \"1\""), TEXT("c,d"), TEXT("e\r\nf"), text_of(NULL), TEXT("\"")},
               6);
    expect_csv("\" a\",\"b\t\",c d,é;\r\n", (struct text[]){TEXT(" a"), TEXT("b\t"), TEXT("c d"), TEXT("é;")}, 4);
}
