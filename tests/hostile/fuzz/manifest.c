/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The manifest of a report folder: the input is manifest.txt beside two files. It is whole only if every line is one of
 * a manifest and every file it names has its sum; and what it calls the report's own is in the folder, has its sum, and
 * is reached by no link. */
#define _XOPEN_SOURCE 700
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "common/fuzz.h"
#include "intake/file.h"
#include "reports/manifest.h"

static void put(const char *name, const char *text) { fuzz_write(fuzz_path(name), text_of(text)); }

static void make_folder(void)
{
    static bool made;
    if (!made) {
        mkdir(fuzz_path("outside"), 0700);
        put("outside/kept", "kept");
        put("kept", "kept");
    }
    made = true;
    mkdir(fuzz_path("report"), 0700);
    mkdir(fuzz_path("report/sheets"), 0700);
    put("report/a.txt", "a");
    put("report/sheets/b.txt", "b");
    if (symlink("../outside", fuzz_path("report/link")) != 0)
        REQUIRE(file_exists(fuzz_path("report/link/kept")));
}

/* A line that may stand in a manifest that is whole. */
static bool may_stand(struct text line)
{
    static const char *const known[] = {
        "ca978112ca1bbdcafac231b39a23dc4da786eff8147c4e72b9807785afee48bb  a.txt",
        "3e23e8160039594a33894f6564e1b1348bbd7a0088d42c4acb73eeaed59c009d  sheets/b.txt",
        "chain ",
        "rule ",
        "settings ",
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (text_starts(line, known[i]))
            return true;
    return false;
}

/* Whose digest the seeds have. */
static bool may_be_own(struct text file)
{
    return text_equal(file, TEXT("manifest.txt")) || text_equal(file, TEXT("a.txt")) ||
           text_equal(file, TEXT("sheets/b.txt"));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct text rest = fuzz_text(data, size), line;
    struct fault fault = {.code = FAULT_NONE};
    struct manifest_check check;
    make_folder();
    fuzz_write(fuzz_path("report/manifest.txt"), rest);
    char *folder = memory_copy_string(fuzz_path("report"));
    REQUIRE(manifest_verify(folder, &check, &fault));
    REQUIRE(check.whole == (*check.first_break == '\0'));
    REQUIRE(memchr(check.first_break, '\0', sizeof check.first_break) != NULL);
    REQUIRE(!check.whole || check.files > 0);
    while (check.whole && fuzz_part(&rest, '\n', &line))
        REQUIRE(may_stand(line));
    AUTO(names) own = names_new();
    REQUIRE(manifest_own_files(folder, folder, own, &fault));
    for (uint32_t i = 1; i <= names_count(own); i++)
        REQUIRE(may_be_own(names_text(own, i)));
    memory_free(folder);
    REQUIRE(file_exists(fuzz_path("kept")) && file_exists(fuzz_path("outside/kept")));
    REQUIRE(file_exists(fuzz_path("report/sheets/b.txt")));
    return 0;
}
