/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "records/kinds.h"

/* Each kind as the interface fixes it, in the order of its columns: `*` required, `k` key, `e` event, `p` plentiful. */
static const struct {
    const char *kind;
    bool core;
    const char *columns;
} expected[] = {
    {"operators", true, "operator.*k:id name:text role:text may_assess:yes/no started_on.*:date left_on:date"},
    {"analyzers", true, "analyzer.*k:id method.*k:id serial:id in_service_on.*:date retired_on:date"},
    {"lots", true,
     "lot.*k:id method.*k:id use.*k:word level.k:id code:id mean:number sd:number low:result high:result "
     "received_on.*:date expires_on.*:date discarded_on:date"},
    {"openings", false, "opened_on.*ke:date lot.*k:id container.k:id operator:id"},
    {"codes", true, "changed_at.*ke:time analyzer.*k:id code.*:id lot:id operator.*:id"},
    {"tests", true,
     "test.*kp:id performed_at.*e:time analyzer.*:id method:id operator.*:id specimen.*p:id lot.*:id code:id "
     "result.*:result "
     "unit:id collected_at:time reported_at:time notified_at:time sequence:whole_number recorded_at:time"},
    {"controls", true,
     "performed_at.*ke:time analyzer.*k:id method:id operator.*:id control_lot.*k:id level.*k:id lot.*:id code:id "
     "result.*k:result unit:id accepted:yes/no sequence:whole_number recorded_at:time"},
    {"cleaning", true, "cleaned_at.*ke:time analyzer.*k:id task.*k:id operator.*:id recorded_at:time"},
    {"training", true,
     "operator.*k:id method.*k:id event.*k:word held_on.*ke:date assessor.*:id outcome.*:word techniques:words"},
    {"temperatures", false,
     "read_at.*ke:time place.*k:id celsius.*:number humidity:number operator.*:id recorded_at:time"},
    {"maintenance", false, "done_at.*ke:time analyzer.*k:id event.*k:word operator:id"},
    {"comparisons", false,
     "event.*k:id sample.*k:id analyzer.*k:id method:id tested_at.*e:time operator.*:id result.*:result "
     "target.*:result "
     "low:number high:number unit:id"},
    {"lot_checks", false,
     "checked_at.*ke:time analyzer.*k:id method:id old_lot:id new_lot.*k:id specimen.*kp:id old_result.*:result "
     "new_result.*:result operator:id"},
    {"procedures", false,
     "procedure.*k:id method.*:id revision.*k:id effective_on.*e:date reviewed_on:date reviewed_by:text "
     "insert_revision:text"},
    {"actions", false,
     "action.*kp:id opened_on.*e:date finding.p:id analyzer:id about:id problem.*:text taken:text owner.*:id "
     "due_on:date "
     "closed_on:date verified_by:id"},
};

static void print_columns(const struct record_kind *kind, char out[1024])
{
    size_t size = 0;
    for (size_t i = 0; i < kind->column_count; i++) {
        const struct column *column = &kind->columns[i];
        size += (size_t)snprintf(out + size, 1024 - size, "%s%s%s%s%s%s%s:%s", i > 0 ? " " : "", column->name,
                                 column->flags != 0 ? "." : "", column->flags & COLUMN_REQUIRED ? "*" : "",
                                 column->flags & COLUMN_KEY ? "k" : "", column->flags & COLUMN_EVENT ? "e" : "",
                                 column->flags & COLUMN_PLENTIFUL ? "p" : "", cell_type_name(column->type));
    }
    for (char *blank = strstr(out, "whole number"); blank != NULL; blank = strstr(out, "whole number"))
        blank[5] = '_';
}

Test(kinds, each_kind_has_the_columns_of_the_interface_and_a_note)
{
    cr_assert_eq((size_t)KIND_COUNT, sizeof expected / sizeof *expected);
    for (int i = 0; i < KIND_COUNT; i++) {
        const struct record_kind *kind = kind_of((enum kind_id)i);
        char printed[1024], wanted[1024];
        print_columns(kind, printed);
        snprintf(wanted, sizeof wanted, "%s note:text", expected[i].columns);
        cr_expect_eq((int)kind->id, i);
        cr_expect_str_eq(kind->name, expected[i].kind);
        cr_expect_eq(kind->core, expected[i].core, "%s", kind->name);
        cr_expect_str_eq(printed, wanted, "%s:\n%s\n%s", kind->name, printed, wanted);
    }
}

Test(kinds, the_event_column_is_the_one_that_is_marked)
{
    for (int i = 0; i < KIND_COUNT; i++) {
        const struct record_kind *kind = kind_of((enum kind_id)i);
        int marked = -1;
        for (size_t c = 0; c < kind->column_count; c++)
            if (kind->columns[c].flags & COLUMN_EVENT)
                marked = (int)c;
        cr_expect_eq(kind->event_column, marked, "%s", kind->name);
    }
    cr_expect_eq(kind_of(KIND_LOTS)->event_column, -1);
    cr_expect_eq(kind_of(KIND_TESTS)->event_column, (int)COL(TESTS, performed_at));
    cr_expect_eq(kind_of(KIND_COMPARISONS)->event_column, (int)COL(COMPARISONS, tested_at));
}

Test(kinds, column_names_follow_their_types)
{
    for (int i = 0; i < KIND_COUNT; i++) {
        const struct record_kind *kind = kind_of((enum kind_id)i);
        for (size_t c = 0; c < kind->column_count; c++) {
            const struct column *column = &kind->columns[c];
            size_t size = strlen(column->name);
            bool on = size > 3 && strcmp(column->name + size - 3, "_on") == 0;
            bool at = size > 3 && strcmp(column->name + size - 3, "_at") == 0;
            bool worded = column->type == CELL_WORD || column->type == CELL_WORDS;
            cr_expect_eq(on, column->type == CELL_DATE, "%s.%s", kind->name, column->name);
            cr_expect_eq(at, column->type == CELL_TIME, "%s.%s", kind->name, column->name);
            cr_expect_eq(worded, column->words != NULL, "%s.%s", kind->name, column->name);
            cr_expect_eq(column->meaning[strlen(column->meaning) - 1], '.', "%s.%s", kind->name, column->name);
        }
    }
}

Test(kinds, kinds_are_found_by_their_exact_names)
{
    cr_expect_eq(kind_named(TEXT("lot_checks")), kind_of(KIND_LOT_CHECKS));
    cr_expect_null(kind_named(TEXT("Tests")));
    cr_expect_null(kind_named(TEXT("test")));
    cr_expect_null(kind_named(TEXT("")));
    const char *const *names = kind_names();
    for (int i = 0; i < KIND_COUNT; i++)
        cr_expect_str_eq(names[i], kind_of((enum kind_id)i)->name);
    cr_expect_null(names[KIND_COUNT]);
}

Test(kinds, columns_are_found_in_any_case)
{
    const struct record_kind *tests = kind_of(KIND_TESTS);
    cr_expect_eq(kind_column(tests, TEXT("performed_at")), (int)COL(TESTS, performed_at));
    cr_expect_eq(kind_column(tests, TEXT("Performed_AT")), (int)COL(TESTS, performed_at));
    cr_expect_eq(kind_column(tests, TEXT("note")), (int)COL(TESTS, note));
    cr_expect_eq(kind_column(tests, TEXT("performed at")), -1);
    cr_expect_eq(kind_column(tests, TEXT("performed_a")), -1);
    cr_expect_eq(kind_column(tests, TEXT("")), -1);
}

static void expect_words(const char *const *words, const char *wanted)
{
    char printed[256] = "";
    for (; *words != NULL; words++)
        snprintf(printed + strlen(printed), sizeof printed - strlen(printed), "%s ", *words);
    cr_expect_str_eq(printed, wanted);
}

Test(kinds, the_closed_lists_are_those_of_the_interface)
{
    expect_words(kind_of(KIND_LOTS)->columns[COL(LOTS, use)].words, "reagent control ");
    expect_words(kind_of(KIND_TRAINING)->columns[COL(TRAINING, event)].words, "initial competency retraining ");
    expect_words(kind_of(KIND_TRAINING)->columns[COL(TRAINING, outcome)].words, "pass fail ");
    expect_words(kind_of(KIND_TRAINING)->columns[COL(TRAINING, techniques)].words,
                 "observation blind-sample control-review written problem-solving ");
    expect_words(kind_of(KIND_MAINTENANCE)->columns[COL(MAINTENANCE, event)].words,
                 "repair replacement relocation dropped software battery clock-check function-check ");
}
