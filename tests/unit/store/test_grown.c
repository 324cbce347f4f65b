/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Of a log that only grew, the part that was added is parsed: a store that does so says the same as one that parses
 * every file as a whole at each load. Random histories of logs that mostly grow, in all the ways that a log can. */
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/output.h"
#include "clinic.h"

#define TESTS "test,performed_at,analyzer,operator,specimen,lot,result,note\n"
#define T1 "T1,2026-10-05 09:00,A1,op1,S1,L1,5.4,\n"
#define T2 "T2,2026-10-05 09:10,A1,op1,S2,L1,6.0,\n"
#define T3 "T3,2026-10-05 09:20,A1,op1,S3,L1,7.0,\n"
#define BAD "T9,soon,A1,op1,S9,L1,5.4,\n"

/* ---- one log ---- */

/* What is known of the first rows is told from the store: other words there are other words here. */
static bool is_parsed_alone(const char *first, const char *added)
{
    CLINIC clinic;
    char grown[600];
    clinic_open(&clinic);
    clinic_put(&clinic, "records/tests.csv", first);
    clinic_load(&clinic, "2026-10-06");
    clinic_edit_sealed(&clinic, "UPDATE refusals SET reason = 'from the store'");
    snprintf(grown, sizeof grown, "%s%sT8,,,,,,,\n", first, added);
    clinic_put(&clinic, "records/tests.csv", grown);
    clinic_load(&clinic, "2026-10-07");
    return strstr(clinic_refusals(&clinic), "from the store") != NULL;
}

Test(grown, what_was_added_to_a_log_is_parsed_alone)
{
    cr_expect(is_parsed_alone(TESTS T1 BAD, ""));
    cr_expect(is_parsed_alone(TESTS T1 BAD, T2 T3));
    cr_expect(is_parsed_alone("\xEF\xBB\xBF" TESTS T1 BAD, "\r\n" T2));
    cr_expect(is_parsed_alone("colour," TESTS "," BAD, "," T2), "the header was warned of, no more");
}

Test(grown, a_log_is_parsed_as_a_whole_where_what_was_added_hangs_on_the_rows_before)
{
    cr_expect_not(is_parsed_alone(TESTS T1 BAD, T1), "the same row");
    cr_expect_not(is_parsed_alone(TESTS T1 BAD, "T1,2026-10-05 10:00,A1,op1,S1,L1,5.4,\n"), "a row with its key");
    cr_expect_not(is_parsed_alone(TESTS T1 BAD "T1,2026-10-05 10:00,A1,op1,S1,L1,5.4,\n", T1), "a key refused before");
    cr_expect_not(is_parsed_alone(TESTS T1 BAD "T4", ",,,,,,,\n"), "the last line goes on");
    cr_expect_not(is_parsed_alone(TESTS T1 BAD "\r", "\n"), "half of a line's end");
    cr_expect_not(is_parsed_alone(TESTS T1 BAD "\"\n", "\"\n" T2), "a quote is closed");
    cr_expect_not(is_parsed_alone(TESTS T1 BAD, "T2,2026-10-05 09:10,A1,op1,S2,L1,6.0,\xE9\n"), "Windows-1252 now");
    cr_expect_not(is_parsed_alone(TESTS BAD T2 T2, T3), "repeated rows were told of");
}

Test(grown, a_row_that_was_added_meets_one_before_whose_time_is_written_otherwise)
{
    static const char *const times[] = {"2026-10-05 08:00", "2026-10-05 08:00:00"};
    for (int i = 0; i < 2; i++) {
        CLINIC clinic;
        char log[200];
        size_t size = (size_t)sprintf(log, "cleaned_at,analyzer,task,operator\n%s,A1,daily,op1\n", times[i]);
        clinic_open(&clinic);
        clinic_put(&clinic, "records/cleaning.csv", log);
        clinic_load(&clinic, "2026-10-06");
        sprintf(log + size, "%s,A1,daily,op1\n", times[1 - i]);
        clinic_put(&clinic, "records/cleaning.csv", log);
        clinic_load(&clinic, "2026-10-07");
        EXPECT_TEXT(clinic_counts(&clinic, KIND_CLEANING), "read 2, repeated 1");
    }
}

Test(grown, what_was_added_has_the_lines_of_the_file)
{
    static const char *const first[] = {TESTS T1, "\xEF\xBB\xBF" TESTS T1, TESTS "\r\n" T1 "\n", TESTS "\r\r" T1,
                                        TESTS "T1,2026-10-05 09:00,A1,op1,S1,L1,5.4,\"two\n\"\"\r\"\"\n lines\"\n"};
    static const char *const line[] = {"T2 2026-10-05 09:10 A1 op1 S2 L1 6.0 @records/tests.csv:3",
                                       "T2 2026-10-05 09:10 A1 op1 S2 L1 6.0 @records/tests.csv:3",
                                       "T2 2026-10-05 09:10 A1 op1 S2 L1 6.0 @records/tests.csv:5",
                                       "T2 2026-10-05 09:10 A1 op1 S2 L1 6.0 @records/tests.csv:5",
                                       "T2 2026-10-05 09:10 A1 op1 S2 L1 6.0 @records/tests.csv:6"};
    for (size_t i = 0; i < sizeof first / sizeof *first; i++) {
        CLINIC clinic;
        char grown[400];
        clinic_open(&clinic);
        clinic_put(&clinic, "records/tests.csv", first[i]);
        clinic_load(&clinic, "2026-10-06");
        snprintf(grown, sizeof grown, "%s" T2, first[i]);
        clinic_put(&clinic, "records/tests.csv", grown);
        clinic_load(&clinic, "2026-10-07");
        EXPECT_TEXT(clinic_counts(&clinic, KIND_TESTS), "read 2, new 1");
        cr_expect_not_null(strstr(clinic_rows(&clinic, KIND_TESTS), line[i]), "%zu: %s", i, clinic.text);
    }
}

/* ---- random histories ---- */

#ifndef HISTORIES
#define HISTORIES 12
#endif
enum { FILES = 6, LOADS = 16, LOG_SIZE = 40000 };

struct dice {
    uint64_t state;
};

/* Knuth's MMIX constants for a linear congruential generator; the high bits are the good ones. */
static unsigned throw_die(struct dice *dice, unsigned sides)
{
    dice->state = dice->state * 6364136223846793005u + 1442695040888963407u;
    return (unsigned)(dice->state >> 33) % sides;
}

enum form { PLAIN, MARKED, CRLF, UTF16, WINDOWS, FORMS };

/* A log in UTF-8 and how it is written; without text there is none. The first three are of tests, which may move in
 * time, the others of training. */
struct log {
    char text[LOG_SIZE];
    enum form form;
};

static const char *header_of(int file)
{
    return file < 3 ? TESTS : "operator,method,event,held_on,assessor,outcome,techniques,note\n";
}

static const char *note_of(struct dice *dice)
{
    static const char *const notes[] = {"", "", "", "", "seen", "\"two\nlines\"", "caf\xC3\xA9", "\"a, b\""};
    return notes[throw_die(dice, sizeof notes / sizeof *notes)];
}

/* A row of one of a few keys, or of one that is new; now and then refused. */
static void append_row(struct dice *dice, struct log *log, int file, unsigned *fresh)
{
    char *to = log->text + strlen(log->text);
    unsigned id = throw_die(dice, 5) < 4 ? 10 + (*fresh)++ : throw_die(dice, 6), fault = throw_die(dice, 14);
    unsigned day = id < 10 ? id + 1 : throw_die(dice, 8) == 0 ? 1 + throw_die(dice, 20) : 8 + id / 6 % 20;
    if (file < 3)
        sprintf(to, "T%u,2026-%s-%02u 09:%02u,A1,%s,S%u,L1,%s,%s\n", id,
                fault == 0 ? "soon"
                : id % 3   ? "10"
                           : "11",
                day, id % 60, fault == 1 ? "" : "op1", id, throw_die(dice, 9) ? "5.4" : "5.40", note_of(dice));
    else
        sprintf(to, "op%u,strip,%s,2026-%s-%02u,amy,%s,%s,%s\n", id, fault == 0 ? "twice" : "initial",
                id % 3 ? "10" : "11", day, throw_die(dice, 9) ? "pass" : "fail",
                throw_die(dice, 12) ? "written" : "spoken", note_of(dice));
}

static char *line_at(struct log *log, unsigned line)
{
    char *at = log->text;
    for (; line > 0 && strchr(at, '\n') != NULL; line--)
        at = strchr(at, '\n') + 1;
    return at;
}

static unsigned count_lines(const struct log *log)
{
    unsigned lines = 0;
    for (const char *at = log->text; (at = strchr(at, '\n')) != NULL; at++)
        lines++;
    return lines;
}

static void take_line_out(struct log *log, unsigned line, char *out)
{
    char *from = line_at(log, line), *to = line_at(log, line + 1);
    memcpy(out, from, (size_t)(to - from));
    out[to - from] = '\0';
    memmove(from, to, strlen(to) + 1);
}

static void change(struct dice *dice, struct log *logs, unsigned *fresh)
{
    int file = (int)throw_die(dice, FILES);
    struct log *log = &logs[file], *other = &logs[file < 3 ? throw_die(dice, 3) : 3 + throw_die(dice, 3)];
    unsigned fate = throw_die(dice, 30), lines = count_lines(log);
    char line[LOG_SIZE];
    if (*log->text == '\0') {
        strcpy(log->text, header_of(file));
        log->form = throw_die(dice, 3) ? PLAIN : (enum form)throw_die(dice, FORMS);
    }
    if (fate < 18)
        for (unsigned i = throw_die(dice, 6); i > 0; i--)
            append_row(dice, log, file, fresh);
    else if (fate == 18)
        strcat(log->text, throw_die(dice, 2) ? "\n" : ",,\n");
    else if (fate == 19 && lines > 2) /* a row once more, at the end */
        take_line_out(log, 1 + throw_die(dice, lines - 1), line), strcat(log->text, line), strcat(log->text, line);
    else if (fate == 20 && lines > 2) /* a row moves to another log */
        take_line_out(log, 1 + throw_die(dice, lines - 1), line), strcat(other->text, line);
    else if (fate == 21 && lines > 2) /* a row in two logs */
        take_line_out(log, 1 + throw_die(dice, lines - 1), line), strcat(log->text, line), strcat(other->text, line);
    else if (fate == 22 && lines > 1) /* a row is taken out */
        take_line_out(log, 1 + throw_die(dice, lines - 1), line);
    else if (fate == 23) /* the end is cut off */
        *line_at(log, throw_die(dice, lines + 1)) = '\0';
    else if (fate == 24 && *log->text != '\0') /* without a line's end; what comes next joins the last row */
        log->text[strlen(log->text) - 1] = '\0';
    else if (fate == 25)
        strcat(log->text, throw_die(dice, 2) ? "T1,\"2026-10-02\n" : "\"\n");
    else if (fate == 26) /* the header says something else */
        *log->text = *log->text == 'x' ? *header_of(file) : 'x';
    else if (fate == 27)
        log->form = (enum form)throw_die(dice, FORMS);
    else if (fate == 28)
        strcat(log->text, throw_die(dice, 2) ? "\xE9\n" : "\r");
    else if (fate == 29)
        for (char *at = log->text + strlen(log->text) / 2; *at != '\0'; at++)
            if (*at == '5')
                *at = '6';
}

/* ---- a log becomes a file ---- */

static void put_character(struct output *output, enum form form, uint32_t character)
{
    const char bytes[] = {(char)character, (char)(character >> 8)};
    output_bytes(output, bytes, form == UTF16 ? 2 : 1);
}

/* Blanks before the header change a file's content from its beginning, and nothing that it says. */
static void put_log(const struct clinic *clinic, int file, const struct log *log, int blanks)
{
    char path[40], there[120];
    snprintf(path, sizeof path, "records/%s-%d.csv", file < 3 ? "tests" : "training", file);
    snprintf(there, sizeof there, "%s/%s", clinic->path, path);
    if (*log->text == '\0') {
        remove(there);
        return;
    }
    AUTO(output) output = output_memory();
    output_bytes(output, log->form == UTF16 ? "\xFF\xFE" : "\xEF\xBB\xBF",
                 log->form == UTF16    ? 2
                 : log->form == MARKED ? 3
                                       : 0);
    for (int i = 0; i < blanks; i++)
        put_character(output, log->form, ' ');
    for (const char *at = log->text; *at != '\0'; at++) {
        if (*at == '\n' && log->form == CRLF)
            output_bytes(output, "\r", 1);
        bool is_two = *at == '\xC3' && (log->form == UTF16 || log->form == WINDOWS);
        put_character(output, log->form, is_two ? 0xE9 : (unsigned char)*at);
        at += is_two;
    }
    struct text bytes = output_taken(output);
    clinic_put(clinic, path, "");
    FILE *stream = fopen(there, "w");
    cr_assert_not_null(stream);
    fwrite(bytes.data, 1, bytes.size, stream);
    fclose(stream);
}

/* ---- all that the tables say ---- */

/* Loads are told by their day: the other store may have more of them. */
#define LOADED(column) "(SELECT day FROM loads WHERE load = " column ")"
static const char *const everything[] = {
    "SELECT *, " LOADED("t.load") ", NULL AS load FROM tests AS t ORDER BY performed_at, n",
    "SELECT *, " LOADED("t.load") ", NULL AS load FROM training AS t ORDER BY held_on, n",
    "SELECT kind, n, " LOADED("begun") ", " LOADED("ended") ", at, next, file, line, hex(row) FROM history"
                                                            " ORDER BY kind, n, begun",
    "SELECT path, kind, rows, repeated, settled, refused FROM files ORDER BY path",
    "SELECT path, line, place, nature, \"column\", value, reason, hex(cells) FROM refusals ORDER BY path, line, place",
    "SELECT path, place, text FROM warnings ORDER BY path, place",
    "SELECT name, text FROM names ORDER BY name",
};

static void print_table(struct output *output, sqlite3 *handle, const char *sql)
{
    sqlite3_stmt *rows = NULL;
    cr_assert_eq(sqlite3_prepare_v2(handle, sql, -1, &rows, NULL), SQLITE_OK, "%s", sqlite3_errmsg(handle));
    while (sqlite3_step(rows) == SQLITE_ROW) {
        for (int i = 0; i < sqlite3_column_count(rows); i++)
            if (strcmp(sqlite3_column_name(rows, i), "load") != 0) {
                const unsigned char *text = sqlite3_column_text(rows, i);
                output_print(output, "%s|", text != NULL ? (const char *)text : "-");
            }
        output_print(output, "\n");
    }
    sqlite3_finalize(rows);
}

static char *tables_of(const struct clinic *clinic)
{
    sqlite3 *handle = NULL;
    AUTO(output) output = output_memory();
    cr_assert_eq(sqlite3_open(clinic->store_path, &handle), SQLITE_OK);
    for (size_t i = 0; i < sizeof everything / sizeof *everything; i++)
        print_table(output, handle, everything[i]);
    sqlite3_close(handle);
    output_bytes(output, "", 1);
    return memory_copy_string(output_taken(output).data);
}

static void expect_same(struct clinic *grown, struct clinic *all, int history, int load)
{
    char *one = tables_of(grown), *other = tables_of(all);
    cr_assert_str_eq(one, other, "history %d, load %d\n%s\n--- and as a whole\n%s", history, load, one, other);
    memory_free(one);
    memory_free(other);
    EXPECT_TEXT(clinic_refusals(grown), clinic_refusals(all));
    EXPECT_TEXT(clinic_warnings(grown), clinic_warnings(all));
    EXPECT_TEXT(clinic_changes(grown), clinic_changes(all));
    EXPECT_TEXT(clinic_counts(grown, KIND_TESTS), clinic_counts(all, KIND_TESTS));
    EXPECT_TEXT(clinic_counts(grown, KIND_TRAINING), clinic_counts(all, KIND_TRAINING));
}

Test(grown, a_store_that_parses_what_was_added_says_what_one_says_that_parses_everything, .timeout = 0)
{
    for (int history = 0; history < HISTORIES; history++) {
        CLINIC grown, all;
        struct dice dice = {(uint64_t)history + 1};
        unsigned fresh = 0;
        struct log *logs = memory_new(FILES * sizeof *logs);
        clinic_open(&grown);
        clinic_open(&all);
        for (int load = 0; load < LOADS; load++) {
            char today[DAY_TEXT_SIZE];
            day_print(9800 + load, today);
            for (int i = 0; i < 3; i++)
                change(&dice, logs, &fresh);
            for (int file = 0; file < FILES; file++) {
                put_log(&grown, file, &logs[file], 0);
                put_log(&all, file, &logs[file], load);
            }
            clinic_load(&grown, today);
            clinic_load(&all, today);
            expect_same(&grown, &all, history, load);
        }
        memory_free(logs);
    }
}
