/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700

#include <criterion/criterion.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "intake/actions_log.h"
#include "scratch.h"

#define HEAD "action,opened_on,problem,owner,closed_on\n"

static struct edit_cell new_row[] = {{COL(ACTIONS, action), {NULL, 0}},
                                     {COL(ACTIONS, opened_on), {"2026-11-03", 10}},
                                     {COL(ACTIONS, problem), {"late", 4}},
                                     {COL(ACTIONS, owner), {"ann", 3}}};

struct opened_log { /* a site and its log */
    struct scratch *scratch;
    struct folder *folder;
    struct actions_log *log;
};

static void close_log(struct opened_log *opened)
{
    actions_log_free(opened->log);
    folder_free(opened->folder);
    scratch_free(opened->scratch);
}
#define OPENED_LOG __attribute__((cleanup(close_log))) struct opened_log

static void new_site(struct opened_log *opened)
{
    *opened = (struct opened_log){.scratch = scratch_new()};
    scratch_write(opened->scratch, "site.yaml", "site: x\n");
    scratch_folder(opened->scratch, "records");
}

static bool open_log(struct opened_log *opened, struct fault *fault)
{
    *fault = (struct fault){.code = FAULT_NONE};
    actions_log_free(opened->log);
    folder_free(opened->folder);
    opened->log = NULL;
    opened->folder = NULL;
    cr_assert(folder_open(&opened->folder, opened->scratch->path, fault), "%s", fault->text);
    return actions_log_read(&opened->log, &opened->folder->sites[0], fault);
}

static void expect_file(struct opened_log *opened, const char *name, const char *expected)
{
    struct file_bytes bytes;
    cr_assert(file_read(scratch_path(opened->scratch, name), NULL, &bytes, NULL), "%s", name);
    cr_expect(text_equal((struct text){bytes.data, bytes.size}, text_of(expected)), "%s: '%.*s'", name, (int)bytes.size,
              bytes.data);
    memory_free(bytes.data);
}

/* The folder's only entries are the files that the test wrote. */
static void expect_entries(struct opened_log *opened, size_t count)
{
    struct folder_names names;
    cr_assert(folder_names_read(scratch_path(opened->scratch, "records"), &names));
    cr_expect_eq(names.count, count, "%zu entries", names.count);
    folder_names_free(&names);
}

static bool add(struct opened_log *opened, const char **file, struct fault *fault)
{
    new_row[0].value = actions_log_next(opened->log);
    return actions_log_add(opened->log, new_row, sizeof new_row / sizeof *new_row, file, fault);
}

Test(actions_log, a_new_id_continues_the_numbering_of_the_log)
{
    static const struct {
        const char *rows, *reserved, *id;
    } vectors[] = {
        {"", NULL, "CA-1"},
        {"AC-1,2026-10-01,x,ann,\nAC-3,2026-10-01,x,ann,\nAC-2,2026-10-02,x,ann,\n", NULL, "AC-4"},
        {"AC-3,2026-10-01,x,ann,\n", "AC-7", "AC-8"},
        {"", "CA-1", "CA-2"},
        {"007,2026-10-01,x,ann,\n", NULL, "008"},
        {"A-99,2026-10-01,x,ann,\n", NULL, "A-100"},
        {"2026-014,2026-10-01,x,ann,\n", NULL, "2026-015"},
        {"fridge,2026-10-01,x,ann,\n", NULL, "CA-1"},
        {"X-1234567890123,2026-10-01,x,ann,\n", NULL, "CA-1"},
        /* A row that is refused has its id all the same; other numberings do not count. */
        {"B-1,2026-10-01,x,ann,\nA-50,,x,ann,\nA-2,2026-10-01,x,ann,\n", NULL, "A-51"},
        {"A-03,2026-10-01,x,ann,\nA-4,2026-10-01,x,ann,\n", NULL, "A-5"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        OPENED_LOG opened;
        struct fault fault;
        char log[512];
        new_site(&opened);
        snprintf(log, sizeof log, HEAD "%s", vectors[i].rows);
        scratch_write(opened.scratch, "records/actions.csv", log);
        cr_assert(open_log(&opened, &fault), "%s", fault.text);
        if (vectors[i].reserved != NULL)
            actions_log_reserve(opened.log, text_of(vectors[i].reserved));
        struct text id = actions_log_next(opened.log);
        cr_expect(text_is(id, vectors[i].id), "%zu: %.*s", i, TEXT_FORMAT(id));
    }
}

Test(actions_log, a_new_row_goes_to_the_only_file_or_to_the_one_of_the_kinds_name)
{
    OPENED_LOG opened;
    struct fault fault;
    const char *file;
    new_site(&opened);
    cr_assert(open_log(&opened, &fault));
    cr_assert(add(&opened, &file, &fault), "%s", fault.text);
    cr_expect_str_eq(file, "records/actions.csv");
    expect_file(&opened, "records/actions.csv",
                "action,opened_on,finding,analyzer,about,problem,taken,owner,due_on,closed_on,verified_by,note\r\n"
                "CA-1,2026-11-03,,,,late,,ann,,,,\r\n");
    cr_assert_eq(unlink(scratch_path(opened.scratch, "records/actions.csv")), 0);
    scratch_write(opened.scratch, "records/actions-2026.csv", HEAD "A1,2026-10-01,x,ann,\n");
    cr_assert(open_log(&opened, &fault));
    cr_assert(add(&opened, &file, &fault), "%s", fault.text);
    cr_expect_str_eq(file, "records/actions-2026.csv");
    expect_file(&opened, file, HEAD "A1,2026-10-01,x,ann,\nA2,2026-11-03,late,ann,\n");
    scratch_write(opened.scratch, "records/actions/old.csv", HEAD "A3,2026-10-01,x,ann,\n");
    cr_assert(open_log(&opened, &fault));
    cr_assert(add(&opened, &file, &fault), "%s", fault.text);
    cr_expect_str_eq(file, "records/actions.csv");
    cr_assert(open_log(&opened, &fault));
    size_t count;
    const struct logged_action *rows = actions_log_rows(opened.log, &count);
    cr_assert_eq(count, 4);
    cr_expect_str_eq(rows[2].file, "records/actions.csv", "in the order of paths");
    cr_expect(text_is(rows[2].action, "A4"));
}

static bool close_first(struct opened_log *opened, struct fault *fault)
{
    static const struct edit_cell cell = {COL(ACTIONS, closed_on), {"2026-11-05", 10}};
    size_t count;
    const struct logged_action *rows = actions_log_rows(opened->log, &count);
    return actions_log_change(opened->log, &rows[0], &cell, 1, fault);
}

Test(actions_log, a_changed_file_keeps_its_permissions_and_its_other_rows)
{
    OPENED_LOG opened;
    struct fault fault;
    struct stat status;
    new_site(&opened);
    scratch_write(opened.scratch, "records/actions.csv", HEAD "A1,2026-10-01,\"x\",ann,\nA2,2026-10-01, y ,ben,\n");
    cr_assert_eq(chmod(scratch_path(opened.scratch, "records/actions.csv"), 0604), 0);
    cr_assert(open_log(&opened, &fault));
    cr_assert(close_first(&opened, &fault), "%s", fault.text);
    expect_file(&opened, "records/actions.csv", HEAD "A1,2026-10-01,\"x\",ann,2026-11-05\nA2,2026-10-01, y ,ben,\n");
    cr_assert_eq(stat(scratch_path(opened.scratch, "records/actions.csv"), &status), 0);
    cr_expect_eq(status.st_mode & 0777, 0604);
    expect_entries(&opened, 1);
}

static void expect_refused(struct opened_log *opened, bool good, struct fault *fault, const char *why)
{
    cr_expect_not(good, "%s", why);
    cr_expect_not_null(strstr(fault->text, why), "'%s' instead of '%s'", fault->text, why);
    *fault = (struct fault){.code = FAULT_NONE};
    expect_file(opened, "records/actions.csv", HEAD "A1,2026-10-01,x,ann,\n");
}

Test(actions_log, a_file_that_must_not_be_written_is_refused_and_stays)
{
    OPENED_LOG opened;
    struct fault fault;
    const char *file;
    new_site(&opened);
    scratch_write(opened.scratch, "records/actions.csv", HEAD "A1,2026-10-01,x,ann,\n");
    cr_assert_eq(chmod(scratch_path(opened.scratch, "records/actions.csv"), 0444), 0);
    cr_assert(open_log(&opened, &fault));
    expect_refused(&opened, add(&opened, &file, &fault), &fault, "actions.csv: is write-protected");
    expect_refused(&opened, close_first(&opened, &fault), &fault, "actions.csv: is write-protected");
    char *real = memory_copy_string(scratch_path(opened.scratch, "kept.csv"));
    cr_assert_eq(rename(scratch_path(opened.scratch, "records/actions.csv"), real), 0);
    cr_assert_eq(chmod(real, 0644), 0);
    scratch_link(opened.scratch, "records/actions.csv", "../kept.csv");
    cr_assert(open_log(&opened, &fault), "%s", fault.text);
    expect_refused(&opened, add(&opened, &file, &fault), &fault, "actions.csv: is a symbolic link");
    expect_refused(&opened, close_first(&opened, &fault), &fault, "actions.csv: is a symbolic link");
    expect_entries(&opened, 1);
    memory_free(real);
}

Test(actions_log, a_file_that_somebody_saves_meanwhile_is_not_overwritten)
{
    OPENED_LOG opened;
    struct fault fault;
    const char *file;
    new_site(&opened);
    scratch_write(opened.scratch, "records/actions.csv", HEAD "A2,2026-10-01,x,ann,\n");
    cr_assert(open_log(&opened, &fault));
    scratch_write(opened.scratch, "records/actions.csv", HEAD "A1,2026-10-01,x,ann,\n");
    expect_refused(&opened, add(&opened, &file, &fault), &fault, "was changed by somebody else just now");
    expect_refused(&opened, close_first(&opened, &fault), &fault, "was changed by somebody else just now");
    expect_entries(&opened, 1);
}

Test(actions_log, a_file_that_is_refused_stops_everything)
{
    OPENED_LOG opened;
    struct fault fault;
    new_site(&opened);
    scratch_write(opened.scratch, "records/actions-old.csv", "action,owner\n");
    cr_expect_not(open_log(&opened, &fault));
    cr_expect_not_null(strstr(fault.text, "actions-old.csv: lacks required columns: opened_on, problem"), "%s",
                       fault.text);
}

/* In a child: writing is possible up to `limit` bytes a file; then the kernel kills, or the write fails. */
static int write_with_little_room(struct opened_log *opened, bool is_killed)
{
    struct rlimit limit = {64, 64};
    struct fault fault = {.code = FAULT_NONE};
    pid_t child = fork();
    cr_assert_geq(child, 0);
    if (child == 0) {
        signal(SIGXFSZ, is_killed ? SIG_DFL : SIG_IGN);
        setrlimit(RLIMIT_FSIZE, &limit);
        _exit(close_first(opened, &fault) ? 0 : 7);
    }
    int status = 0;
    waitpid(child, &status, 0);
    return status;
}

Test(actions_log, the_old_file_is_whole_when_the_write_fails_or_the_process_dies_in_it)
{
    OPENED_LOG opened;
    struct fault fault;
    static const char log[] = HEAD "A1,2026-10-01,a problem that needs more than sixty-four bytes to be told,ann,\n";
    new_site(&opened);
    scratch_write(opened.scratch, "records/actions.csv", log);
    cr_assert(open_log(&opened, &fault));
    int failed = write_with_little_room(&opened, false);
    cr_expect(WIFEXITED(failed) && WEXITSTATUS(failed) == 7);
    expect_file(&opened, "records/actions.csv", log);
    expect_entries(&opened, 1);
    int killed = write_with_little_room(&opened, true);
    cr_expect(WIFSIGNALED(killed) && WTERMSIG(killed) == SIGXFSZ);
    expect_file(&opened, "records/actions.csv", log);
    cr_assert(open_log(&opened, &fault), "what is left is passed over");
    cr_expect(close_first(&opened, &fault), "%s", fault.text);
}

Test(actions_log, what_is_no_file_is_not_replaced_by_one)
{
    OPENED_LOG opened;
    struct fault fault;
    const char *file;
    new_site(&opened);
    cr_assert(open_log(&opened, &fault));
    scratch_folder(opened.scratch, "records/actions.csv");
    cr_expect_not(add(&opened, &file, &fault));
    cr_expect_not_null(strstr(fault.text, "records/actions.csv: is no file"), "%s", fault.text);
    expect_entries(&opened, 1);
}
