/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700 /* nftw */

#include "reports/manifest.h"

#include <criterion/criterion.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "intake/file.h"
#include "put.h"

#define HEAD "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff"
#define OTHER_HEAD "000000000000000000000000000000000000000000000000000000000000000a"
/* SHA-256 of "abc": FIPS 180-4, example B.1 */
#define ABC "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"

static int remove_entry(const char *path, const struct stat *status, int type, struct FTW *place)
{
    (void)status, (void)type, (void)place;
    return remove(path);
}

static void remove_folder(char (*folder)[40]) { nftw(*folder, remove_entry, 8, FTW_DEPTH | FTW_PHYS); }
#define FOLDER __attribute__((cleanup(remove_folder))) char

static void make_folder(char (*folder)[40])
{
    strcpy(*folder, "/tmp/assize-test-XXXXXX");
    cr_assert_not_null(mkdtemp(*folder));
}

static const char *const files[] = {"findings.json", "clinic/fixlist.html"};

static void make_report(const char *folder)
{
    const struct named_digest rule = {TEXT("lots.expired"), HEAD}, settings = {TEXT("site.yaml"), ABC};
    const struct text heads[] = {TEXT(OTHER_HEAD), TEXT(HEAD)};
    struct fault fault = {.code = FAULT_NONE};
    put(folder, files[0], "abc");
    put(folder, files[1], "");
    const struct manifest_contents contents = {files, 2, heads, 2, {{&rule, 1}, {&settings, 1}}};
    cr_assert(manifest_write(folder, &contents, &fault), "%s", fault.text);
}

static struct manifest_check check_of(const char *folder)
{
    struct manifest_check check;
    struct fault fault = {.code = FAULT_NONE};
    cr_assert(manifest_verify(folder, &check, &fault), "%s", fault.text);
    cr_expect_eq(check.whole, check.first_break[0] == '\0');
    return check;
}

static void add_head(void *context, const char *head) { strcat(context, head); }

Test(manifest, lists_files_chain_rules_and_settings_and_is_whole)
{
    FOLDER folder[40];
    struct file_bytes bytes;
    char path[60];
    make_folder(&folder);
    make_report(folder);
    struct manifest_check check = check_of(folder);
    cr_expect(check.whole, "%s", check.first_break);
    cr_expect_eq(check.files, 2);
    char heads[2 * DIGEST_HEX_SIZE] = "";
    cr_assert(manifest_heads(folder, add_head, heads, NULL));
    cr_expect_str_eq(heads, OTHER_HEAD HEAD);
    snprintf(path, sizeof path, "%s/manifest.txt", folder);
    cr_assert(file_read(path, NULL, &bytes, NULL));
    cr_expect_eq(strncmp(bytes.data, ABC "  findings.json\n", 80), 0);
    cr_expect_not_null(strstr(bytes.data, "\nchain " OTHER_HEAD "\nchain " HEAD "\nrule " HEAD " lots.expired\n"
                                          "settings " ABC " site.yaml\n"));
    memory_free(bytes.data);
}

static const struct {
    const char *file, *content, *first_break; /* content NULL: the file is removed */
} edits[] = {
    {"findings.json", "abd", "findings.json: was changed after the report was written"},
    {"clinic/fixlist.html", NULL, "clinic/fixlist.html: is gone or cannot be read"},
    {"manifest.txt", "", "manifest.txt: lists no file"},
    {"manifest.txt", ABC "  findings.json\nchain 00\n", "manifest.txt:2: no line of a manifest"},
    {"manifest.txt", ABC "  ../findings.json\n", "manifest.txt:1: no line of a manifest"},
    {"manifest.txt", ABC "  /etc/hostname\n", "manifest.txt:1: no line of a manifest"},
    {"manifest.txt", ABC " findings.json\n", "manifest.txt:1: no line of a manifest"},
    {"manifest.txt", "BA7816BF" ABC "  findings.json\n", "manifest.txt:1: no line of a manifest"},
    {"manifest.txt", ABC "  findings.json", "clinic/fixlist.html: is not listed in manifest.txt"},
};

Test(manifest, the_first_file_or_line_that_does_not_fit_is_named)
{
    for (size_t i = 0; i < sizeof edits / sizeof *edits; i++) {
        FOLDER folder[40];
        char path[80];
        make_folder(&folder);
        make_report(folder);
        snprintf(path, sizeof path, "%s/%s", folder, edits[i].file);
        if (edits[i].content != NULL)
            put(folder, edits[i].file, edits[i].content);
        else
            cr_assert_eq(unlink(path), 0);
        struct manifest_check check = check_of(folder);
        cr_expect_str_eq(check.first_break, edits[i].first_break);
    }
}

Test(manifest, a_folder_without_one_cannot_be_verified)
{
    FOLDER folder[40];
    struct manifest_check check;
    struct fault fault = {.code = FAULT_NONE};
    make_folder(&folder);
    cr_expect_not(manifest_verify(folder, &check, &fault));
    cr_expect_eq(fault.code, FAULT_FILE);
}

static bool owns(const char *folder, const char *file)
{
    AUTO(names) own = names_new();
    struct fault fault = {.code = FAULT_NONE};
    cr_assert(manifest_own_files(folder, folder, own, &fault), "%s", fault.text);
    return names_find(own, text_of(file)) != 0;
}

Test(manifest, a_reports_own_are_the_files_that_it_lists_as_they_were_written)
{
    FOLDER folder[40];
    make_folder(&folder);
    make_report(folder);
    put(folder, "my notes.txt", "mine");
    cr_expect(owns(folder, files[0]) && owns(folder, files[1]) && owns(folder, "manifest.txt"));
    cr_expect_not(owns(folder, "my notes.txt"));
    put(folder, files[0], "abd");
    cr_expect_not(owns(folder, files[0]), "it was edited");
    cr_expect(owns(folder, files[1]) && owns(folder, "manifest.txt"));
}

Test(manifest, a_list_of_other_files_makes_them_nobodys_reports)
{
    static const char *const lists[] = {ABC "  thesis.txt\n", /* as sha256sum writes it */
                                        ABC "  thesis.txt\nchain " HEAD "\nmore\n", "chain " HEAD "\n", "", "chain\n"};
    FOLDER folder[40];
    make_folder(&folder);
    put(folder, "thesis.txt", "abc");
    put(folder, "manifest.txt", ABC "  thesis.txt\nchain " HEAD "\n");
    cr_expect(owns(folder, "thesis.txt"), "the bytes are those that a report's manifest lists");
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++) {
        put(folder, "manifest.txt", lists[i]);
        cr_expect_not(owns(folder, "thesis.txt"), "%s", lists[i]);
        cr_expect_not(owns(folder, "manifest.txt"), "%s", lists[i]);
    }
}

Test(manifest, nothing_is_a_reports_own_that_links_or_paths_out_of_the_folder_lead_to)
{
    static const char *const names[] = {"clinic/fixlist.html", "../elsewhere.html", "link.html", "/etc/hostname"};
    FOLDER folder[40];
    FOLDER elsewhere[40];
    char link[80], target[80];
    make_folder(&folder);
    make_folder(&elsewhere);
    put(elsewhere, "fixlist.html", "abc");
    snprintf(link, sizeof link, "%s/clinic", folder);
    cr_assert_eq(symlink(elsewhere, link), 0);
    snprintf(link, sizeof link, "%s/link.html", folder);
    snprintf(target, sizeof target, "%s/fixlist.html", elsewhere);
    cr_assert_eq(symlink(target, link), 0);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char manifest[400];
        snprintf(manifest, sizeof manifest, ABC "  %s\nchain " HEAD "\n", names[i]);
        put(folder, "manifest.txt", manifest);
        cr_expect_not(owns(folder, names[i]), "%s", names[i]);
    }
}
