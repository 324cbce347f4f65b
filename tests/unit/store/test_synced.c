/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is written is on the disk before it gets its name, and its name is before the command ends: so a power cut
 * leaves the old file or the new one. The calls are caught on their way to the system. */
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/output.h"
#include "clinic.h"

enum { FILES_MOST = 64 };

static struct {
    ino_t synced[FILES_MOST];
    size_t synced_count, named, named_unsynced;
    bool folder_is_behind; /* a name was given since the folder was synced */
} seen;

static bool is_synced(ino_t file)
{
    for (size_t i = 0; i < seen.synced_count; i++)
        if (seen.synced[i] == file)
            return true;
    return false;
}

/* Nothing here asks for a disk that keeps its word: only the calls and their order count. */
int fsync(int fd)
{
    struct stat status;
    if (fstat(fd, &status) != 0)
        return -1;
    if (S_ISDIR(status.st_mode))
        seen.folder_is_behind = false;
    else if (seen.synced_count < FILES_MOST)
        seen.synced[seen.synced_count++] = status.st_ino;
    return 0;
}

static bool note_name(const char *old)
{
    struct stat status;
    if (stat(old, &status) != 0)
        return false;
    seen.named++;
    seen.named_unsynced += !is_synced(status.st_ino);
    seen.folder_is_behind = true;
    return true;
}

int rename(const char *old, const char *new) { return note_name(old) ? renameat(AT_FDCWD, old, AT_FDCWD, new) : -1; }

int link(const char *old, const char *new) { return note_name(old) ? linkat(AT_FDCWD, old, AT_FDCWD, new, 0) : -1; }

static void expect_all_synced(size_t named_least, const char *what)
{
    cr_expect_geq(seen.named, named_least, "%s: %zu files got a name", what, seen.named);
    cr_expect_eq(seen.named_unsynced, 0, "%s: %zu files got a name before they were synced", what, seen.named_unsynced);
    cr_expect_not(seen.folder_is_behind, "%s: the folder was not synced after a name was given", what);
    memset(&seen, 0, sizeof seen);
}

Test(synced, a_written_file_is_on_the_disk_before_it_has_its_name)
{
    CLINIC clinic;
    clinic_open(&clinic);
    char path[128];
    snprintf(path, sizeof path, "%s/page.html", clinic.path);
    struct fault fault = {.code = FAULT_NONE};
    struct output *output;
    memset(&seen, 0, sizeof seen);
    cr_assert(output_file(&output, path, &fault), "%s", fault.text);
    output_text(output, TEXT("whole"));
    cr_assert(output_close(output, &fault), "%s", fault.text);
    expect_all_synced(1, "a page");
}

Test(synced, a_store_is_on_the_disk_before_it_has_its_name)
{
    CLINIC clinic;
    clinic_open(&clinic);
    clinic_put(&clinic, "records/cleaning.csv", "cleaned_at,analyzer,task,operator\n2026-10-05 08:00,A1,daily,op1\n");
    memset(&seen, 0, sizeof seen);
    clinic_load(&clinic, "2026-10-06");
    expect_all_synced(1, "a new store");
}
