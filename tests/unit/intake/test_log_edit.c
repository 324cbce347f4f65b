/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <string.h>

#include "intake/log_edit.h"

enum { WHOLE = 0, MOST = 2048 };

static const struct edit_cell row[] = {
    {COL(ACTIONS, action), {"CA-2", 4}},
    {COL(ACTIONS, opened_on), {"2026-11-03", 10}},
    {COL(ACTIONS, finding), {"F-GZPWR9QWFD", 12}},
    {COL(ACTIONS, problem), {"code of the old lot", 19}},
    {COL(ACTIONS, owner), {"ann", 3}},
};
#define ROW_COUNT (sizeof row / sizeof *row)

/* What an edit makes of a file, or `why`. line 0 adds. */
static struct text edited(struct output *out, struct text file, uint32_t line, const struct edit_cell *cells,
                          size_t count)
{
    char why[WHY_SIZE] = "";
    const struct record_kind *kind = kind_of(KIND_ACTIONS);
    bool good = line == 0 ? log_edit_add(kind, file, cells, count, out, why)
                          : log_edit_change(kind, file, line, cells, count, out, why);
    if (!good) {
        cr_expect_eq(output_taken(out).size, 0, "nothing is made when it fails");
        output_print(out, "! %s", why);
    }
    return output_taken(out);
}

static void expect_bytes(struct text made, struct text expected, size_t vector)
{
    cr_expect(text_equal(made, expected), "%zu: '%.*s' instead of '%.*s'", vector, TEXT_FORMAT(made),
              TEXT_FORMAT(expected));
}

#define H "action,opened_on,finding,problem,owner"
#define ONE "CA-1,2026-10-01,,late,ben"
#define TWO "CA-2,2026-11-03,F-GZPWR9QWFD,code of the old lot,ann"

Test(log_edit, a_row_goes_to_the_end_and_all_before_it_stays)
{
    static const struct {
        const char *file, *made;
    } vectors[] = {
        {H "\n" ONE "\n", H "\n" ONE "\n" TWO "\n"},
        {H "\r\n" ONE "\r\n", H "\r\n" ONE "\r\n" TWO "\r\n"},
        {H "\r" ONE "\r", H "\r" ONE "\r" TWO "\r"},
        {H "\n" ONE, H "\n" ONE "\n" TWO},
        {H, H "\r\n" TWO},
        {H "\n", H "\n" TWO "\n"},
        {H "\r\n" ONE, H "\r\n" ONE "\r\n" TWO},
        {H "\n" ONE "\n\n,,,,\n", H "\n" ONE "\n\n,,,,\n" TWO "\n"},
        {"\xEF\xBB\xBF" H "\n" ONE "\n", "\xEF\xBB\xBF" H "\n" ONE "\n" TWO "\n"},
        {"\n\n \"Owner\" ,PROBLEM,colour,opened_on,,finding,note,action\nben,\"a, \"\"b\"\"\nc\" , "
         "red,2026-10-01,,,,CA-1\n",
         "\n\n \"Owner\" ,PROBLEM,colour,opened_on,,finding,note,action\nben,\"a, \"\"b\"\"\nc\" , "
         "red,2026-10-01,,,,CA-1\n"
         "ann,code of the old lot,,2026-11-03,,F-GZPWR9QWFD,,CA-2\n"},
        /* a second file was put behind the first */
        {H "\n" ONE "\nowner,problem,finding,opened_on,action\n",
         H "\n" ONE "\nowner,problem,finding,opened_on,action\nann,code of the old lot,F-GZPWR9QWFD,2026-11-03,CA-2\n"},
        {H "\nCA-1,2026-99-01,,no date,ben\n", H "\nCA-1,2026-99-01,,no date,ben\n" TWO "\n"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        AUTO(output) out = output_memory();
        expect_bytes(edited(out, text_of(vectors[i].file), WHOLE, row, ROW_COUNT), text_of(vectors[i].made), i);
    }
}

Test(log_edit, what_a_file_cannot_take_is_said)
{
    static const struct {
        const char *file, *why;
    } vectors[] = {
        {"", "! has no header row that can be read"},
        {"action,opened_on,problem,owner\n", "! its header row lacks what is needed; add to it: finding"},
        {"action,finding,owner\n", "! lacks required columns: opened_on, problem"},
        {"action;opened_on;finding;problem;owner\n",
         "! lacks required columns: action, opened_on, problem, owner; its cells seem to be divided by semicolons, not "
         "commas"},
        {H ",owner\n", "! names the column 'owner' twice"},
        {H "\nCA-1,2026-10-01,,\"late,ben\n", "! a quote on line 2 is never closed; mend that first"},
        {"\xFF\xFE"
         "a",
         "! begins as UTF-16, but is not valid UTF-16 throughout"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        AUTO(output) out = output_memory();
        expect_bytes(edited(out, text_of(vectors[i].file), WHOLE, row, ROW_COUNT), text_of(vectors[i].why), i);
    }
}

#define HEAD "action,opened_on,problem,owner,taken,closed_on,verified_by"

Test(log_edit, only_the_cells_of_the_row_change)
{
    static const struct edit_cell cells[] = {{COL(ACTIONS, closed_on), {"2026-11-05", 10}},
                                             {COL(ACTIONS, taken), {"said \"no\",\r\nand left", 20}}};
    static const struct {
        const char *file;
        uint32_t line;
        const char *made;
    } vectors[] = {
        {HEAD "\nA1,2026-10-01,x,ann,,,\nA2,2026-10-01,\"y\nz\",ben,,,\n", 2,
         HEAD "\nA1,2026-10-01,x,ann,\"said \"\"no\"\",\r\nand left\",2026-11-05,\nA2,2026-10-01,\"y\nz\",ben,,,\n"},
        {HEAD "\r\nA1,2026-10-01,\"x\r\n\"\"q\"\"\" ,  ann , \"\" ,\t,", 2,
         HEAD "\r\nA1,2026-10-01,\"x\r\n\"\"q\"\"\" ,  ann ,\"said \"\"no\"\",\r\nand left\",2026-11-05,"},
        {HEAD "\n\"A1\",2026-10-01,\"\"\"\xC3\xA9\"\"\",ann,,,\n", 2,
         HEAD "\n\"A1\",2026-10-01,\"\"\"\xC3\xA9\"\"\",ann,\"said \"\"no\"\",\r\nand left\",2026-11-05,\n"},
        /* A row that ends before the header does. */
        {HEAD "\nA1,2026-10-01,x,ann\nA2,2026-10-01,y,ben\n", 2,
         HEAD "\nA1,2026-10-01,x,ann,\"said \"\"no\"\",\r\nand left\",2026-11-05\nA2,2026-10-01,y,ben\n"},
        {HEAD "\nA1,2026-10-01,x,ann", 2, HEAD "\nA1,2026-10-01,x,ann,\"said \"\"no\"\",\r\nand left\",2026-11-05"},
        {"closed_on,owner,taken,note,action,opened_on,problem\n,ann,old,keep,A1,2026-10-01,x\n", 2,
         "closed_on,owner,taken,note,action,opened_on,problem\n"
         "2026-11-05,ann,\"said \"\"no\"\",\r\nand left\",keep,A1,2026-10-01,x\n"},
        {HEAD "\nA1,2026-10-01,x,ann,,,\n", 3, "! has no row on line 3"},
        {"action,opened_on,problem,owner\nA1,2026-10-01,x,ann\n", 2,
         "! its header row lacks what is needed; add to it: closed_on, taken"},
        /* A row that no load would take. */
        {HEAD "\nA1,2026-10-01,,ann,,,\n", 2, "! would not say the same when it is read again, so nothing was entered"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        AUTO(output) out = output_memory();
        expect_bytes(edited(out, text_of(vectors[i].file), vectors[i].line, cells, 2), text_of(vectors[i].made), i);
    }
}

/* ASCII with a few of é (E9), € (80 in Windows-1252, U+20AC), written in an encoding by hand. */
static struct text in_encoding(enum encoding encoding, const char *latin, char out[MOST])
{
    size_t size = 0;
    if (encoding == ENCODING_UTF16_LE || encoding == ENCODING_UTF16_BE) {
        memcpy(out, encoding == ENCODING_UTF16_LE ? "\xFF\xFE" : "\xFE\xFF", 2);
        size = 2;
    }
    for (; *latin != '\0'; latin++) {
        unsigned char c = (unsigned char)*latin;
        unsigned unit = c == 0x80 ? 0x20AC : c;
        if (encoding == ENCODING_WINDOWS_1252) {
            out[size++] = (char)c;
            continue;
        }
        out[size++] = (char)(encoding == ENCODING_UTF16_LE ? unit & 0xFF : unit >> 8);
        out[size++] = (char)(encoding == ENCODING_UTF16_LE ? unit >> 8 : unit & 0xFF);
    }
    return (struct text){out, size};
}

Test(log_edit, the_encoding_of_the_file_stays)
{
    static const enum encoding encodings[] = {ENCODING_UTF16_LE, ENCODING_UTF16_BE, ENCODING_WINDOWS_1252};
    static const struct edit_cell add[] = {{COL(ACTIONS, action), {"CA-2", 4}},
                                           {COL(ACTIONS, opened_on), {"2026-11-03", 10}},
                                           {COL(ACTIONS, problem), {"caf\xC3\xA9, 5 \xE2\x82\xAC", 12}},
                                           {COL(ACTIONS, owner), {"ann", 3}}};
    static const struct edit_cell change[] = {{COL(ACTIONS, owner), {"\xC3\xA9va", 4}}};
    static const char file[] =
        "action,opened_on,problem,owner,note\r\nCA-1,2026-10-01,\"\"\"\x80\"\" d\xE9j\xE0\",ben,\xE9\r\n";
    char bytes[MOST], expected[MOST];
    for (size_t i = 0; i < sizeof encodings / sizeof *encodings; i++) {
        AUTO(output) added = output_memory();
        AUTO(output) changed = output_memory();
        struct text before = in_encoding(encodings[i], file, bytes);
        expect_bytes(edited(added, before, WHOLE, add, 4),
                     in_encoding(encodings[i],
                                 "action,opened_on,problem,owner,note\r\nCA-1,2026-10-01,\"\"\"\x80\"\" "
                                 "d\xE9j\xE0\",ben,\xE9\r\nCA-2,2026-11-03,\"caf\xE9, 5 \x80\",ann,\r\n",
                                 expected),
                     i);
        expect_bytes(edited(changed, before, 2, change, 1),
                     in_encoding(encodings[i],
                                 "action,opened_on,problem,owner,note\r\nCA-1,2026-10-01,\"\"\"\x80\"\" "
                                 "d\xE9j\xE0\",\xE9va,\xE9\r\n",
                                 expected),
                     i);
    }
}

/* U+1D11E takes two units of UTF-16; what follows it must still be found. */
Test(log_edit, characters_of_two_units_are_counted_as_two)
{
    static const char head[] = "action,opened_on,problem,owner,note\nCA-1,2026-10-01,", tail[] = ",ben,x\n",
                      new_tail[] = ",ann,x\n";
    static const struct edit_cell change[] = {{COL(ACTIONS, owner), {"ann", 3}}};
    char file[MOST], part[MOST], expected[MOST];
    struct text before = in_encoding(ENCODING_UTF16_BE, head, file);
    size_t size = before.size;
    memcpy(file + size, "\xD8\x34\xDD\x1E", 4);
    memcpy(expected, file, size + 4);
    struct text rest = in_encoding(ENCODING_UTF16_BE, tail, part);
    memcpy(file + size + 4, rest.data + 2, rest.size - 2);
    rest = in_encoding(ENCODING_UTF16_BE, new_tail, part);
    memcpy(expected + size + 4, rest.data + 2, rest.size - 2);
    AUTO(output) out = output_memory();
    expect_bytes(edited(out, (struct text){file, size + 2 + rest.size}, 2, change, 1),
                 (struct text){expected, size + 2 + rest.size}, 0);
}

Test(log_edit, a_text_that_the_encoding_lacks_is_refused)
{
    static const struct edit_cell chinese[] = {{COL(ACTIONS, owner), {"\xE6\x9D\x8E", 3}}};
    /* C3 and A9 side by side would make the file look like UTF-8. */
    static const struct edit_cell two[] = {{COL(ACTIONS, owner), {"\xC3\x83\xC2\xA9", 4}}};
    static const struct text file = TEXT("action,opened_on,problem,owner\nCA-1,2026-10-01,d\xE9j\xE0,ben\n");
    AUTO(output) out = output_memory();
    AUTO(output) other = output_memory();
    expect_bytes(edited(out, file, 2, chinese, 1),
                 TEXT("! is a Windows-1252 file, and what is to be entered has characters that do not exist there"), 0);
    expect_bytes(edited(other, file, 2, two, 1),
                 TEXT("! mixes UTF-8 with other bytes, first on line 2; save it as UTF-8"), 1);
}

/* Any text that is allowed is read back as it was: seeded, so that a failure repeats. The proof inside fails else. */
Test(log_edit, whatever_is_entered_is_read_back)
{
    static const char alphabet[] = "ab,\"\"\n\r; x\t=";
    unsigned seed = 11;
    for (int round = 0; round < 500; round++) {
        char text[12];
        for (size_t i = 0; i < sizeof text; i++) {
            seed = seed * 1103515245U + 12345U;
            text[i] = alphabet[(seed >> 16) % (sizeof alphabet - 1)];
        }
        text[0] = text[11] = 'y';
        struct edit_cell cells[] = {row[0], row[1], row[2], row[4], {COL(ACTIONS, problem), {text, sizeof text}}};
        AUTO(output) out = output_memory();
        AUTO(output) again = output_memory();
        struct text made = edited(out, text_of(H "\n" ONE "\n"), WHOLE, cells, 5);
        cr_assert_neq(made.data[0], '!', "round %d: %.*s", round, TEXT_FORMAT(made));
        made = edited(again, made, 3, cells, 5);
        cr_assert(text_equal(made, output_taken(out)), "round %d: entered twice is entered once", round);
    }
}

Test(log_edit, a_new_log_has_all_columns_of_its_kind)
{
    AUTO(output) out = output_memory();
    log_edit_begin(kind_of(KIND_ACTIONS), out);
    cr_expect(text_is(output_taken(out), "action,opened_on,finding,analyzer,about,problem,taken,owner,due_on,closed_on,"
                                         "verified_by,note\r\n"));
}
