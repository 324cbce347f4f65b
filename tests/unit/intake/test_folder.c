/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700 /* mkfifo */

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "intake/folder.h"
#include "scratch.h"

/* All that lies in a site's records/: `path kind`, `path refused: why`, then `path passed over`. */
static void print_site(const struct site_place *site, char out[4096])
{
    size_t at = 0;
    out[0] = '\0';
    for (size_t i = 0; i < site->log_count; i++) {
        const struct log_file *log = &site->logs[i];
        at += (size_t)snprintf(out + at, 4096 - at, "%s %s%s%s\n", log->path, log->kind != NULL ? log->kind->name : "-",
                               log->refused != NULL ? " refused: " : "", log->refused != NULL ? log->refused : "");
    }
    if (site->unreadable != NULL)
        at += (size_t)snprintf(out + at, 4096 - at, "unreadable: %s\n", site->unreadable + strlen(site->path) + 1);
    for (size_t i = 0; i < site->passed_over_count; i++)
        at += (size_t)snprintf(out + at, 4096 - at, "%s passed over\n", site->passed_over[i]);
}

static void expect_site(struct scratch *scratch, const char *wanted)
{
    struct fault fault = {0};
    struct folder *folder;
    char printed[4096];
    cr_assert(folder_open(&folder, scratch->path, &fault), "%s", fault.text);
    cr_assert_eq(folder->site_count, 1);
    print_site(&folder->sites[0], printed);
    cr_expect_str_eq(printed, wanted, "gave\n%s", printed);
    folder_free(folder);
}

static struct scratch *site_new(void)
{
    struct scratch *scratch = scratch_new();
    scratch_write(scratch, "site.yaml", "site: x\n");
    return scratch;
}

Test(folder, a_site_without_records_is_unreadable)
{
    AUTO(scratch) scratch = site_new();
    expect_site(scratch, "unreadable: records: cannot be read: No such file or directory\n");
    cr_assert_eq(mkdir(scratch_path(scratch, "records"), 0700), 0);
    expect_site(scratch, "");
}

Test(folder, logs_are_found_by_their_names_in_byte_order)
{
    AUTO(scratch) scratch = site_new();
    static const char *const names[] = {"records/tests.csv",         "records/tests-2026-10.csv", "records/tests/b.csv",
                                        "records/tests/a b.CSV",     "records/lot_checks.Csv",    "records/lots-.csv",
                                        "records/tests/controls.csv"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        scratch_write(scratch, names[i], "");
    expect_site(scratch, "records/lot_checks.Csv lot_checks\n"
                         "records/lots-.csv lots\n"
                         "records/tests-2026-10.csv tests\n"
                         "records/tests.csv tests\n"
                         "records/tests/a b.CSV tests\n"
                         "records/tests/b.csv tests\n"
                         "records/tests/controls.csv tests\n");
}

Test(folder, other_csv_files_are_refused_by_name_and_the_rest_is_passed_over)
{
    AUTO(scratch) scratch = site_new();
    static const char *const names[] = {
        "records/fridges.csv",      "records/Tests.csv",      "records/tests2026.csv",
        "records/old/tests.csv",    "records/old/readme.txt", "records/tests/2026/a.csv",
        "records/.~lock.tests.csv", "records/~$tests.csv",    "records/tests.csv~",
        "records/.tests.csv",       "records/notes.txt",      "records/tests.xlsx",
        "records/.git/tests.csv",   "records/tests/.hidden",  "records/csv"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        scratch_write(scratch, names[i], "");
    expect_site(scratch,
                "records/Tests.csv - refused: no kind of record is called 'Tests', the nearest known is tests\n"
                "records/fridges.csv - refused: no kind of record is called 'fridges'\n"
                "records/old/tests.csv - refused: lies too deep; logs lie in records/ or in records/KIND/\n"
                "records/tests/2026/a.csv - refused: lies too deep; logs lie in records/ or in records/KIND/\n"
                "records/tests2026.csv - refused: no kind of record is called 'tests2026'\n"
                "records/.git passed over\n"
                "records/.tests.csv passed over\n"
                "records/.~lock.tests.csv passed over\n"
                "records/csv passed over\n"
                "records/notes.txt passed over\n"
                "records/old/readme.txt passed over\n"
                "records/tests.csv~ passed over\n"
                "records/tests.xlsx passed over\n"
                "records/tests/.hidden passed over\n"
                "records/~$tests.csv passed over\n");
}

Test(folder, links_are_followed_inside_the_site_only)
{
    AUTO(scratch) scratch = site_new();
    AUTO(scratch) elsewhere = scratch_new();
    scratch_write(elsewhere, "tests.csv", "");
    scratch_write(scratch, "kept/lots.csv", "");
    scratch_write(scratch, "kept/more/a.csv", "");
    scratch_link(scratch, "records/lots.csv", "../kept/lots.csv");
    scratch_link(scratch, "records/codes", "../kept/more");
    scratch_link(scratch, "records/tests.csv", scratch_path(elsewhere, "tests.csv"));
    scratch_link(scratch, "records/controls", elsewhere->path);
    scratch_link(scratch, "records/again", ".");
    scratch_link(scratch, "records/codes-x.csv", "codes-x.csv");
    scratch_link(scratch, "records/training.csv", "nowhere");
    scratch_link(scratch, "records/readme", "nowhere");
    expect_site(scratch, "records/again - refused: a symbolic link to a folder that is no kind of record\n"
                         "records/codes-x.csv codes refused: a symbolic link that leads back to itself\n"
                         "records/codes/a.csv codes\n"
                         "records/controls controls refused: a symbolic link that leads out of the site folder\n"
                         "records/lots.csv lots\n"
                         "records/tests.csv tests refused: a symbolic link that leads out of the site folder\n"
                         "records/training.csv training refused: a symbolic link to nothing that can be read\n"
                         "records/readme passed over\n");
}

Test(folder, circles_of_links_come_to_an_end)
{
    AUTO(scratch) scratch = site_new();
    scratch_write(scratch, "records/tests.csv", "");
    scratch_link(scratch, "records/tests", ".");
    expect_site(scratch, "records/tests.csv tests\n"
                         "records/tests/tests - refused: a symbolic link to a folder that is no kind of record\n"
                         "records/tests/tests.csv tests\n");
}

Test(folder, a_records_folder_that_is_none_is_unreadable)
{
    AUTO(scratch) scratch = site_new();
    AUTO(scratch) elsewhere = scratch_new();
    scratch_write(scratch, "records", "");
    expect_site(scratch, "unreadable: records: cannot be read: Not a directory\n");
    cr_assert_eq(remove(scratch_path(scratch, "records")), 0);
    scratch_link(scratch, "records", elsewhere->path);
    expect_site(scratch, "unreadable: records: a symbolic link that leads out of the site folder\n");
}

Test(folder, what_is_no_file_is_no_log)
{
    AUTO(scratch) scratch = site_new();
    scratch_folder(scratch, "records/tests.csv");
    cr_assert_eq(mkfifo(scratch_path(scratch, "records/codes.csv"), 0600), 0);
    expect_site(scratch, "records/codes.csv codes refused: is no regular file\n"
                         "records/tests.csv tests refused: is a folder, not a file\n");
}

Test(folder, names_that_do_not_print_are_refused_and_shown_by_their_bytes)
{
    AUTO(scratch) scratch = site_new();
    scratch_write(scratch, "records/tests-\xE9.csv", "");
    scratch_write(scratch, "records/tests-\n.csv", "");
    scratch_write(scratch, "records/tests-\xC3\xA9.csv", "");
    scratch_write(scratch, "records/a\x1B[1m", "");
    scratch_write(scratch, "records/tests-\\xE9.csv", "");
#define REFUSED "tests refused: its name holds characters that do not print\n"
    expect_site(scratch,
                "records/tests-//0A.csv " REFUSED "records/tests-//E9.csv " REFUSED "records/tests-\\xE9.csv tests\n"
                "records/tests-\xC3\xA9.csv tests\n"
                "records/a//1B[1m passed over\n");
#undef REFUSED
}

/* ---- programs ---- */

Test(folder, a_program_has_its_sites_in_byte_order)
{
    AUTO(scratch) scratch = scratch_new();
    struct fault fault = {0};
    struct folder *folder;
    scratch_write(scratch, "program.yaml", "program: p\n");
    scratch_write(scratch, "sites/b/site.yaml", "site: b\n");
    scratch_write(scratch, "sites/a/site.yaml", "site: a\n");
    scratch_write(scratch, "sites/a/records/tests.csv", "");
    scratch_write(scratch, "sites/.hidden/site.yaml", "");
    scratch_write(scratch, "sites/readme.txt", "");
    cr_assert(folder_open(&folder, scratch->path, &fault), "%s", fault.text);
    cr_expect_str_eq(folder->store_path, scratch_path(scratch, "assize.db"));
    cr_expect_str_eq(folder->program_path, scratch->path);
    cr_assert_eq(folder->site_count, 2);
    cr_expect_str_eq(folder->sites[0].name, "a");
    cr_expect_str_eq(folder->sites[1].name, "b");
    cr_expect_str_eq(folder->sites[0].path, scratch_path(scratch, "sites/a"));
    cr_expect_eq(folder->sites[0].log_count, 1);
    folder_free(folder);
}

Test(folder, a_site_of_a_program_has_the_programs_store)
{
    AUTO(scratch) scratch = scratch_new();
    scratch_write(scratch, "program.yaml", "program: p\n");
    scratch_write(scratch, "sites/a/site.yaml", "site: a\n");
    scratch_write(scratch, "other/a/site.yaml", "site: a\n");
    static const struct {
        const char *named, *name, *store;
    } vectors[] = {
        {"sites/a", "a", "assize.db"},
        {"sites/a/", "a", "assize.db"},
        {"sites/../sites/a", "a", "assize.db"},
        {"other/a", NULL, "other/a/assize.db"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        struct fault fault = {0};
        struct folder *folder;
        cr_assert(folder_open(&folder, scratch_path(scratch, vectors[i].named), &fault), "%s", fault.text);
        cr_assert_eq(folder->site_count, 1);
        cr_expect_eq(folder->program_path != NULL, vectors[i].name != NULL);
        cr_expect_eq(folder->sites[0].name != NULL, vectors[i].name != NULL);
        cr_expect_str_eq(folder->store_path, scratch_path(scratch, vectors[i].store));
        folder_free(folder);
    }
}

Test(folder, what_is_neither_site_nor_program_is_a_fault)
{
    AUTO(scratch) scratch = scratch_new();
    scratch_folder(scratch, "empty");
    scratch_write(scratch, "both/site.yaml", "");
    scratch_write(scratch, "both/program.yaml", "");
    scratch_write(scratch, "file", "");
    scratch_write(scratch, "alone/program.yaml", "");
    scratch_write(scratch, "bare/program.yaml", "");
    scratch_folder(scratch, "bare/sites");
    static const char *const vectors[][2] = {
        {"nowhere", "no such folder"},
        {"file", "no such folder"},
        {"empty", "holds neither site.yaml nor program.yaml"},
        {"both", "holds both program.yaml and site.yaml; a folder is one or the other"},
        {"alone", "cannot be read: No such file or directory"},
        {"bare", "holds no site folders"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        struct fault fault = {0};
        struct folder *folder;
        cr_expect_not(folder_open(&folder, scratch_path(scratch, vectors[i][0]), &fault));
        cr_expect_null(folder);
        cr_expect_eq(fault.code, FAULT_FILE);
        cr_expect_not_null(strstr(fault.text, vectors[i][1]), "%s", fault.text);
    }
    struct fault fault = {0};
    struct folder *folder;
    cr_expect_not(folder_open(&folder, "", &fault));
}

/* ---- files ---- */

Test(folder, files_are_read_whole)
{
    AUTO(scratch) scratch = scratch_new();
    static char bytes[100000];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (char)(i * 7 + i / 256);
    scratch_bytes(scratch, "large", bytes, sizeof bytes);
    scratch_bytes(scratch, "empty", "", 0);
    struct file_bytes read;
    struct fault fault = {0};
    cr_assert(file_read(scratch_path(scratch, "large"), scratch->path, &read, &fault), "%s", fault.text);
    cr_expect_eq(read.size, sizeof bytes);
    cr_expect_eq(memcmp(read.data, bytes, sizeof bytes), 0);
    memory_free(read.data);
    cr_assert(file_read(scratch_path(scratch, "empty"), NULL, &read, &fault), "%s", fault.text);
    cr_expect_eq(read.size, 0);
    memory_free(read.data);
}

Test(folder, what_cannot_be_read_is_a_fault_with_a_reason)
{
    AUTO(scratch) scratch = scratch_new();
    AUTO(scratch) elsewhere = scratch_new();
    scratch_write(elsewhere, "secret", "x");
    scratch_folder(scratch, "folder");
    scratch_link(scratch, "out", scratch_path(elsewhere, "secret"));
    cr_assert_eq(mkfifo(scratch_path(scratch, "pipe"), 0600), 0);
    static const char *const vectors[][2] = {
        {"nothing", ": cannot be read: No such file or directory"},
        {"folder", ": cannot be read: is a folder, not a file"},
        {"pipe", ": cannot be read: is no regular file"},
        {"out", ": cannot be read: a symbolic link that leads out of the site folder"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        struct file_bytes read;
        struct fault fault = {0};
        cr_expect_not(file_read(scratch_path(scratch, vectors[i][0]), scratch->path, &read, &fault));
        cr_expect_null(read.data);
        cr_expect_not_null(strstr(fault.text, vectors[i][1]), "%s", fault.text);
    }
}
