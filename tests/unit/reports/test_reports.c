/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "audits.h"
#include "reports/manifest.h"
#include "reports/reports.h"

/* A new folder `base`, and the path of reports two levels below it. */
static void new_folder(char base[64], char folder[96])
{
    snprintf(base, 64, "/tmp/reports-XXXXXX");
    cr_assert_not_null(mkdtemp(base));
    snprintf(folder, 96, "%s/reports/2026-10", base);
}

static void remove_file(const char *folder, const char *name)
{
    char path[200];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    cr_expect_eq(unlink(path), 0, "%s", path);
}

static void remove_folders(const char *base, const char *folder)
{
    char middle[96];
    snprintf(middle, sizeof middle, "%s/reports", base);
    cr_expect(rmdir(folder) == 0 && rmdir(middle) == 0 && rmdir(base) == 0, "nothing else lies there");
}

Test(reports, every_format_is_written_and_stands_in_the_manifest)
{
    char base[64], folder[96];
    new_folder(base, folder);
    AUTO(audit) audit = audit_small();
    struct fault fault = {0};
    for (int times = 0; times < 2; times++) /* the second time over the first */
        cr_expect(reports_write(audit, folder, 2, NULL, &fault), "%s", fault.text);
    struct manifest_check check = {0};
    cr_expect(manifest_verify(folder, &check, &fault), "%s", fault.text);
    cr_expect(check.whole, "%s", check.first_break);
    size_t count = 0;
    for (const struct report_format *format = audit_formats; format->file != NULL; format++, count++)
        remove_file(folder, format->file);
    for (size_t i = 0; i < audit->site_count; i++) {
        char site[160];
        snprintf(site, sizeof site, "%s/%.*s", folder, TEXT_FORMAT(audit->sites[i].site));
        for (const struct report_format *format = site_formats; format->file != NULL; format++, count++)
            remove_file(site, format->file);
        cr_expect_eq(rmdir(site), 0, "%s", site);
    }
    cr_expect_eq(check.files, count);
    remove_file(folder, "manifest.txt");
    remove_folders(base, folder);
}

Test(reports, a_folder_that_cannot_be_made_is_a_fault_and_leaves_nothing)
{
    char base[64], folder[96], taken[96];
    new_folder(base, folder);
    snprintf(taken, sizeof taken, "%s/reports", base);
    FILE *file = fopen(taken, "w"); /* where the folder should be */
    cr_assert_not_null(file);
    fclose(file);
    AUTO(audit) audit = audit_small();
    struct fault fault = {0};
    cr_expect_not(reports_write(audit, folder, 2, NULL, &fault));
    cr_expect_eq(fault.code, FAULT_FILE);
    cr_expect_not_null(strstr(fault.text, taken), "%s", fault.text);
    cr_expect(unlink(taken) == 0 && rmdir(base) == 0, "nothing else lies there");
}

/* A letter of two bytes takes six in the name of a folder: a file system's 255 are soon used up. */
#define N80 "nnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnn"
#define ZHE10 "\u0436\u0436\u0436\u0436\u0436\u0436\u0436\u0436\u0436\u0436"
#define ZHE6_WRITTEN "%D0%B6%D0%B6%D0%B6%D0%B6%D0%B6%D0%B6"
#define ZHE10_WRITTEN ZHE6_WRITTEN "%D0%B6%D0%B6%D0%B6%D0%B6"

Test(reports, a_sites_id_cannot_lead_out_of_the_folder)
{
    static const struct {
        const char *site, *folder;
    } rows[] = {
        {"ninefold-mill", "ninefold-mill"},
        {"north.2", "north.2"},
        {"..", "%2E%2E"},
        {"a/../b", "a%2F.%2E%2Fb"},
        {"a..b", "a.%2Eb"},
        {"50%", "50%25"},
        {"caf\xc3\xa9", "caf%C3%A9"},
        {".hidden", "%2Ehidden"},
        {"a b", "a%20b"},
        {"findings.html", "%66indings.html"},
        {"manifest.txt", "%6Danifest.txt"},
        {"findings", "findings"},
        {N80 ZHE10 ZHE10, N80 ZHE10_WRITTEN ZHE10_WRITTEN},
        {N80 ZHE10 ZHE10 "a", N80 ZHE6_WRITTEN "%D0~b5ad7d4c3c33f16c"},
        {N80 ZHE10 ZHE10 "b", N80 ZHE6_WRITTEN "%D0~75c8729918d84ae1"},
    };
    AUTO(arena) arena = arena_new();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct text folder = report_site_folder(arena, text_of(rows[i].site));
        cr_expect(text_is(folder, rows[i].folder), "%s: %.*s", rows[i].site, TEXT_FORMAT(folder));
    }
}
