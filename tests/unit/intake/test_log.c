/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "intake/log.h"

/* What a log gave, as lines: `LINE ok`, `LINE column: value: reason`, `warning …`. */
struct heard {
    const struct record_kind *kind;
    char lines[4096];
    size_t size;
    struct cell cells[COLUMNS_MOST]; /* of the last row or refused row; texts are gone */
};

static void hear(struct heard *heard, const char *line)
{
    heard->size += (size_t)snprintf(heard->lines + heard->size, sizeof heard->lines - heard->size, "%s\n", line);
    cr_assert_lt(heard->size, sizeof heard->lines);
}

static void hear_row(void *context, uint32_t line, const struct cell *cells)
{
    struct heard *heard = context;
    char text[32];
    snprintf(text, sizeof text, "%u ok", line);
    hear(heard, text);
    memcpy(heard->cells, cells, heard->kind->column_count * sizeof *cells);
}

static void hear_refusal(void *context, const struct refusal *refusal, const struct cell *cells)
{
    struct heard *heard = context;
    char text[1024];
    snprintf(text, sizeof text, "%u%s %s: %.*s: %s", refusal->line, refusal->to_end ? " to the end" : "",
             refusal->column != NULL ? refusal->column : "-", TEXT_FORMAT(refusal->value), refusal->reason);
    hear(heard, text);
    memcpy(heard->cells, cells, heard->kind->column_count * sizeof *cells);
}

static void hear_warning(void *context, const char *text)
{
    char line[1024];
    snprintf(line, sizeof line, "warning %s", text);
    hear(context, line);
}

/* Empty if the file is refused as a whole; then `why` says why. */
static struct heard read_log(enum kind_id kind, struct text csv, char why[WHY_SIZE])
{
    struct heard heard = {.kind = kind_of(kind)};
    const struct log_sink sink = {&heard, hear_row, hear_refusal, hear_warning};
    char *bytes = memory_resize(NULL, csv.size + 1, 1);
    memcpy(bytes, csv.data, csv.size);
    *why = '\0';
    bool good = log_read(heard.kind, "records/x.csv", &bytes, csv.size, &sink, why);
    cr_expect_eq(good, *why == '\0');
    memory_free(bytes);
    return heard;
}

struct vector {
    enum kind_id kind;
    const char *csv, *lines;
};

static void expect_heard(const struct vector *vectors, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char why[WHY_SIZE];
        struct heard heard = read_log(vectors[i].kind, text_of(vectors[i].csv), why);
        cr_expect_str_eq(why, "", "%zu: %s", i, why);
        cr_expect_str_eq(heard.lines, vectors[i].lines, "%zu: gave\n%s", i, heard.lines);
    }
}
#define EXPECT_HEARD(vectors) expect_heard(vectors, sizeof vectors / sizeof *vectors)

Test(log, columns_stand_in_any_order_and_case)
{
    static const struct vector vectors[] = {
        {KIND_OPENINGS, "opened_on,lot,container,operator,note\n2026-10-01,K1,1,op1,\n", "2 ok\n"},
        {KIND_OPENINGS, "LOT,\"Opened_On\"\r\nK1,2026-10-01\r\n\r\nK2,2026-10-02", "2 ok\n4 ok\n"},
        {KIND_OPENINGS, "\n\n,,\nlot,opened_on\n", ""},
        {KIND_OPENINGS, "lot,opened_on,container\nK1,2026-10-01\n", "2 ok\n"}, /* fewer cells: absent */
        {KIND_OPENINGS, "lot,opened_on\n,\n\"\",\"\"\n", ""},
    };
    EXPECT_HEARD(vectors);
}

Test(log, cells_are_typed_by_their_column)
{
    char why[WHY_SIZE];
    struct heard heard =
        read_log(KIND_CONTROLS,
                 TEXT("sequence,accepted,performed_at,result,analyzer,operator,control_lot,level,lot,unit\n"
                      "007,No,2026-10-07T09:12,<5.40,A1,op1,C1,low,K1,\n"),
                 why);
    cr_assert_str_eq(heard.lines, "2 ok\n");
    moment at;
    cr_assert(moment_parse(TEXT("2026-10-07 09:12"), &at, NULL));
    cr_expect_eq(heard.cells[COL(CONTROLS, sequence)].whole, 7);
    cr_expect_eq(heard.cells[COL(CONTROLS, performed_at)].whole, at);
    cr_expect(heard.cells[COL(CONTROLS, accepted)].present);
    cr_expect_eq(heard.cells[COL(CONTROLS, accepted)].whole, 0);
    cr_expect_not(heard.cells[COL(CONTROLS, unit)].present);
    cr_expect_not(heard.cells[COL(CONTROLS, note)].present);
    cr_expect_eq(heard.cells[COL(CONTROLS, result)].text.size, 5);
}

Test(log, a_bad_row_is_refused_and_the_others_are_read)
{
    static const struct vector vectors[] = {
        {KIND_OPENINGS, "lot,opened_on\nK1,2026-02-30\nK2,2026-10-02\n,2026-10-02\n",
         "2 opened_on: 2026-02-30: not a real calendar date\n3 ok\n4 lot: : required, but empty\n"},
        {KIND_OPENINGS, "lot,opened_on\nK1,2026-10-01,\nK1,2026-10-01,more\nK1,2026-10-01\n",
         "2 -: : more cells than the header\n3 -: more: more cells than the header\n4 ok\n"},
        {KIND_OPENINGS, "lot,opened_on,note\nK1,\"2026-10-01\"x,\nK1,2026-10-01,\"two\nlines\"\nK2,2026-10-01,\n",
         "2 opened_on: : text after a closing quote; quotes inside a quoted cell must be doubled\n3 ok\n5 ok\n"},
        {KIND_OPENINGS,
         "lot,opened_on,note\nK1,2026-10-01,\"see\nK2,2026-10-02,\nK3,2026-10-03,\"late\"\nK4,2026-10-04,\n",
         "2 note: : text after a closing quote; quotes inside a quoted cell must be doubled\n3 ok\n4 ok\n5 ok\n"},
        {KIND_OPENINGS, "lot,opened_on,note\nK1,2026-10-01,\nK2,2026-10-02,\"open\nK3,2026-10-03,\n",
         "2 ok\n3 to the end note: : a quote that is never closed; nothing from here to the end of the file can be "
         "read\n"},
        {KIND_TRAINING,
         "operator,method,event,held_on,assessor,outcome\no,m,initial,2026-01-01,a,passed\no,m,x,2026-01-01,a,pass\n",
         "2 outcome: passed: expected pass or fail\n3 event: x: expected one of initial, competency, retraining\n"},
        {KIND_TEMPERATURES, "read_at,place,celsius,operator\n2026-10-07 09:12,fridge,\"4,5\",o\n",
         "2 celsius: 4,5: expected a number\n"},
        /* one refusal a row, by the order of its cells */
        {KIND_OPENINGS, "lot,opened_on\n,x\n", "2 opened_on: x: expected YYYY-MM-DD\n"},
    };
    EXPECT_HEARD(vectors);
}

Test(log, a_control_lot_needs_a_level_and_a_reagent_lot_has_none)
{
    static const struct vector vectors[] = {
        {KIND_LOTS,
         "lot,method,use,level,received_on,expires_on\nC1,m,control,low,2026-01-01,2026-12-31\n"
         "C1,m,control,,2026-01-01,2026-12-31\nK1,m,reagent,,2026-01-01,2026-12-31\n"
         "K1,m,reagent,low,2026-01-01,2026-12-31\n",
         "2 ok\n3 level: : a control lot needs a level\n4 ok\n5 level: low: a reagent lot has no level\n"},
    };
    EXPECT_HEARD(vectors);
}

Test(log, a_refused_row_hands_over_the_cells_that_can_be_read)
{
    static const char *const bad[] = {"\"S\"1", "S1,,,,,,,", "\"S1"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        char why[WHY_SIZE], csv[512];
        snprintf(csv, sizeof csv,
                 "test,sequence,performed_at,analyzer,operator,lot,result,specimen\nT-1,7,2026-13-01 09:00,A1,,K1,5,%s",
                 bad[i]);
        struct heard heard = read_log(KIND_TESTS, text_of(csv), why);
        cr_expect_eq(heard.lines[0], '2', "%s", heard.lines);
        cr_expect_null(strstr(heard.lines, "ok"));
        cr_expect_eq(heard.cells[COL(TESTS, test)].text.size, 3);
        cr_expect_eq(heard.cells[COL(TESTS, sequence)].whole, 7);
        cr_expect_not(heard.cells[COL(TESTS, performed_at)].present);
        cr_expect_not(heard.cells[COL(TESTS, operator)].present);
        cr_expect_eq(heard.cells[COL(TESTS, specimen)].present, i == 1);
    }
}

Test(log, what_is_left_out_is_told_once_a_file)
{
    static const struct vector vectors[] = {
        {KIND_OPENINGS, "lot,opened_on,Contaner,initials\nK1,2026-10-01,1,x\nK2,2026-10-01,2,y\n",
         "warning records/x.csv:1: unknown column 'Contaner' is left out, the nearest known is container\n"
         "warning records/x.csv:1: unknown column 'initials' is left out\n2 ok\n3 ok\n"},
        {KIND_OPENINGS, "lot,,opened_on,\nK1,,2026-10-01,\nK2,x,2026-10-01,\nK3,y,2026-10-01,\n",
         "2 ok\nwarning records/x.csv:3: column 2 has no name; what stands in it is left out\n3 ok\n4 ok\n"},
        {KIND_OPENINGS,
         "lot,opened_on,note\nK1,2026-10-01,\"1, 2\n2\n3, 4\n\n\n5\"\nK2,2026-10-02,\"see\nK3,2026-10-03,late\"\n"
         "K4,2026-10-04,\"a\rb,c,d\"\n",
         "2 ok\n8 note: : lines that are rows of their own stand between the quotes of this cell: a quote is missing "
         "or "
         "too many\n10 ok\nwarning records/x.csv:10: this row runs over 2 lines, and some look like "
         "rows "
         "of their own: a quote may be missing or too many\n"},
        {KIND_OPENINGS, "lot,opened_on,note\nK1,2026-10-01,\"see\nK2,2026-10-02,late\"",
         "2 note: : lines that are rows of their own stand between the quotes of this cell: a quote is missing or too "
         "many\n"},
        {KIND_TESTS, /* a row that would be refused by itself is lost all the same */
         "test,performed_at,analyzer,operator,specimen,lot,result,sequence,note\n"
         "T1,2026-10-05 09:00,A1,o,S1,L1,5.5,7,\"ok\nT2,5.10.2026 09:10,A1,o,S2,L1,6.1,8,see\"\n",
         "2 note: : lines that are rows of their own stand between the quotes of this cell: a quote is missing or too "
         "many\n"},
        {KIND_TESTS, /* else T1 had the result of T2, and T2 were gone */
         "test,performed_at,analyzer,operator,specimen,note,lot,result\n"
         "T1,2026-10-05 09:00,A1,o,S1,\"seen,L1,5.5\nT2,2026-10-05 09:10,A1,o,S2,\",L1,6.1\n",
         "2 note: : lines that are rows of their own stand between the quotes of this cell: a quote is missing or too "
         "many\n"},
        {KIND_TRAINING,
         "operator,method,event,held_on,assessor,outcome,techniques\n"
         "o,m,initial,2026-01-01,a,pass,writen; observation\no,m,initial,2026-01-02,a,pass,writen;quiz\n",
         "warning records/x.csv:2: techniques: writen: unknown word, the nearest known is written\n2 ok\n"
         "warning records/x.csv:3: techniques: quiz: unknown word\n3 ok\n"},
        {KIND_OPENINGS, "lot,opened_on,note\nK1,2026-10-01,caf\xE9\n",
         "warning records/x.csv: is not UTF-8; read as Windows-1252\n2 ok\n"},
    };
    EXPECT_HEARD(vectors);
}

/* Two files that were put behind one another. */
Test(log, rows_behind_a_second_header_are_read_by_it)
{
    static const struct vector vectors[] = {
        {KIND_OPENINGS, "lot,opened_on\nK1,2026-10-01\nlot,opened_on\nK2,2026-10-02\n",
         "2 ok\nwarning records/x.csv:3: a header row again; the rows behind it are read by it\n4 ok\n"},
        {KIND_OPENINGS, "lot,opened_on\nK1,2026-10-01\nOpened_On,lot,colour\n2026-10-02,K2,red\nK3,2026-10-03\n",
         "2 ok\nwarning records/x.csv:3: a header row again; the rows behind it are read by it\n"
         "warning records/x.csv:3: unknown column 'colour' is left out\n4 ok\n"
         "5 opened_on: K3: expected YYYY-MM-DD\n"},
        {KIND_OPENINGS, "lot,opened_on,note\nK1,2026-10-01,\nlot,container,note\nK2,2026-10-02,\n",
         "2 ok\n3 to the end -: : a header row again, of a log that lacks required columns: opened_on; nothing from "
         "here "
         "to the end of the file can be read\n"},
        /* however many columns are none of ours, and however they are called */
        {KIND_OPENINGS, "lot,opened_on\nK1,2026-10-01\nopened_on,lot,24h max,device,battery\n2026-10-02,K2\n",
         "2 ok\nwarning records/x.csv:3: a header row again; the rows behind it are read by it\n"
         "warning records/x.csv:3: unknown column '24h max' is left out\n"
         "warning records/x.csv:3: unknown column 'device' is left out\n"
         "warning records/x.csv:3: unknown column 'battery' is left out\n4 ok\n"},
        {KIND_OPENINGS, "lot,opened_on,note\nK1,2026-10-01,\nlot,opened_on,\"no\"te\nK2,2026-10-02,\n",
         "2 ok\n3 to the end -: : a header row again, of a log that has a quote that is wrong in its header row; "
         "nothing "
         "from here to the end of the file can be read\n"},
        {KIND_OPENINGS, "lot,opened_on,note\nK1,2026-10-01,\"see\nopened_on,lot\n2026-10-02,K2\"\n",
         "2 note: : lines that are rows of their own stand between the quotes of this cell: a quote is missing or too "
         "many\n"},
        {KIND_OPENINGS, "lot,opened_on,note\nK1,2026-10-01,\ndate,lot,note,who,24h max\n2026-10-02,K2,,ann,9\n",
         "2 ok\n3 to the end -: : a header row again, of a log that lacks required columns: opened_on; nothing from "
         "here "
         "to the end of the file can be read\n"},
        /* a row with a slip in it is none for two words that are names of columns, nor is one with its day */
        {KIND_OPENINGS,
         "lot,opened_on,note\nlot,2026-13-01,note\nlot,2026-10-02,container,note,operator\nK2,2026-10-02,\n",
         "2 opened_on: 2026-13-01: not a real calendar date\n3 -: note: more cells than the header\n4 ok\n"},
        {KIND_LOTS,
         "lot,method,use,level,received_on,expires_on,low,high\nV1,m,control,low,5 Sep 2026,Dec 2027,high,\n"
         "V2,m,reagent,,2026-09-05,2027-12-31,,\n",
         "2 received_on: 5 Sep 2026: expected YYYY-MM-DD\n3 ok\n"},
        {KIND_OPENINGS, "lot,opened_on,note\nlot,2026-13-01T08:00,note\n",
         "2 opened_on: 2026-13-01T08:00: expected YYYY-MM-DD\n"},
        /* a name may be a number */
        {KIND_TEMPERATURES, "read_at,place,celsius,humidity,operator\ntime,place,humidity,temp,1\n",
         "2 to the end -: : a header row again, of a log that lacks required columns: read_at, celsius, operator; "
         "nothing from here to the end of the file can be read\n"},
        /* two words in a note are none */
        {KIND_OPENINGS, "lot,opened_on,container,note\nK1,2026-10-01,,\"seen\nlot, container\nboth good\"\n", "2 ok\n"},
        /* what can be read as a record is none */
        {KIND_OPENINGS, "lot,opened_on,note\nlot,2026-10-01,note\n", "2 ok\n"},
    };
    EXPECT_HEARD(vectors);
}

Test(log, a_copy_that_broke_off_is_told)
{
    static const struct vector vectors[] = {
        {KIND_OPENINGS, "lot,opened_on,note\nK1,2026-10-01\nK2,2026-10-02",
         "2 ok\n3 ok\nwarning records/x.csv:3: the last row has fewer cells than the header, and no line end: the file "
         "may be cut off\n"},
        {KIND_OPENINGS, "lot,opened_on,note\nK1,2026-10-01,", "2 ok\n"},
        {KIND_OPENINGS, "lot,opened_on,note\nK1,2026-10-01\n", "2 ok\n"},
    };
    EXPECT_HEARD(vectors);
}

Test(log, a_file_that_cannot_be_trusted_is_refused_as_a_whole)
{
    static const struct {
        struct text csv;
        const char *why;
    } vectors[] = {
        {{"", 0}, "has no header row"},
        {{"\n,,\n", 4}, "has no header row"},
        {{"lot,container\nK1,1\n", 19}, "lacks required columns: opened_on"},
        {{"note\nx\n", 7}, "lacks required columns: opened_on, lot"},
        {{"lot,opened_on,Lot\n", 18}, "names the column 'Lot' twice"},
        {{"lot,opened_on,x,X\n", 18}, "names the column 'X' twice"},
        {{"lot;opened_on\n", 14},
         "lacks required columns: opened_on, lot; its cells seem to be divided by semicolons, not commas"},
        {{"lot\topened_on\n", 14},
         "lacks required columns: opened_on, lot; its cells seem to be divided by tabs, not commas"},
        {{"lot,\"opened_on\"x\n", 17}, "has a quote that is wrong in its header row"},
        {{"lot,\"opened_on\n", 15}, "has a quote that is wrong in its header row"},
        {{"lot,opened_on,\"note\nK1,2026-10-01,,\"\nK2,2026-10-02,\n", 52}, /* a row in the name of a column */
         "has a quote that is wrong in its header row"},
        {{"lot,opened_on,\"note\nK1,2026-10-01\"\n", 35}, "has a quote that is wrong in its header row"},
        {{"lot,opened_on,\"note\nK1, 2026-10-01T08:00 \"\n", 43}, "has a quote that is wrong in its header row"},
        {{"lot,opened_on\nK\0001,2026-10-01\n", 29},
         "holds NUL bytes: no text, or UTF-16 without a byte order mark; save it as UTF-8"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        char why[WHY_SIZE];
        read_log(KIND_OPENINGS, vectors[i].csv, why);
        cr_expect_str_eq(why, vectors[i].why, "%zu: %s", i, why);
    }
}

Test(log, a_header_beyond_reason_is_refused)
{
    static char csv[3000];
    char why[WHY_SIZE];
    memset(csv, ',', sizeof csv);
    memcpy(csv, "lot,opened_on", 13);
    read_log(KIND_OPENINGS, (struct text){csv, sizeof csv}, why);
    cr_expect_str_eq(why, "has more than 1000 columns in its header row");
}

Test(log, utf16_reads_like_utf8)
{
    static const char csv[] = "lot,opened_on\nK\xC3\xA9,2026-10-01\n";
    char utf16[128] = "\xFF\xFE", why[WHY_SIZE];
    size_t size = 2;
    for (const char *at = csv; *at != '\0'; at++) {
        utf16[size] = *at == '\xC3' ? '\xE9' : *at;
        at += *at == '\xC3';
        size += 2;
    }
    struct heard heard = read_log(KIND_OPENINGS, (struct text){utf16, size}, why);
    cr_expect_str_eq(heard.lines, "2 ok\n");
    cr_expect_eq(heard.cells[COL(OPENINGS, lot)].text.size, 3);
}

/* Seeded mutations of a good log: whatever happens to a file, each line is read, refused or part of another's row. */
Test(log, damaged_files_are_read_or_refused)
{
    static const char good[] =
        "lot,opened_on,container,operator,note\nK1,2026-10-01,1,op1,\"a\nb\"\nK2,2026-10-02,,,x\n";
    unsigned seed = 7;
    for (int round = 0; round < 20000; round++) {
        char csv[sizeof good];
        memcpy(csv, good, sizeof good);
        for (int i = 0; i < 3; i++) {
            seed = seed * 1103515245U + 12345U;
            csv[(seed >> 8) % (sizeof good - 1)] = (char)(seed >> 20);
        }
        char why[WHY_SIZE];
        struct heard heard = read_log(KIND_OPENINGS, (struct text){csv, sizeof good - 1}, why);
        cr_assert(*why != '\0' || heard.size > 0);
    }
}
