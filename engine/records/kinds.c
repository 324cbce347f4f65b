/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "records/kinds.h"

/* ---- the short names that kinds.def is written with ----------------------------------------------------------------
 */

#define REQUIRED COLUMN_REQUIRED
#define KEY COLUMN_KEY
#define EVENT COLUMN_EVENT
#define PLENTIFUL COLUMN_PLENTIFUL
#define WORDS(...) ((const char *const[]){__VA_ARGS__, NULL})
#define NO_WORDS NULL
#define NO_UNIT NULL

/* clang-format off */
#define KIND(ID, name, core, meaning) static const struct column columns_##ID[] = {
#define COLUMN(ID, name, type, flags, words, unit, meaning) {#name, CELL_##type, flags, words, unit, meaning},
#define KIND_END(ID) };
#include "records/kinds.def"

/* The place of the event column, as a sum over all columns: -1, and place + 1 of the one column that has the flag. */
#define EVENT_PLACE(column, flags) (((flags) & COLUMN_EVENT) ? (int)(column) + 1 : 0)
#define KIND(ID, name, core, meaning) {KIND_##ID, #name, meaning, core, columns_##ID, COL_##ID##_COUNT, -1
#define COLUMN(ID, name, type, flags, words, unit, meaning) + EVENT_PLACE(COL_##ID##_##name, flags)
#define KIND_END(ID) },
/* clang-format on */
static const struct record_kind kinds[KIND_COUNT] = {
#include "records/kinds.def"
};

#define KIND(ID, name, core, meaning)                                                                     \
    _Static_assert((int)COL_##ID##_COUNT <= (int)COLUMNS_MOST && COL_##ID##_note + 1 == COL_##ID##_COUNT, \
                   #name ": too many columns, or note is not the last");
#define COLUMN(...)
#define KIND_END(ID)
#include "records/kinds.def"

const struct record_kind *kind_of(enum kind_id id) { return &kinds[id]; }

const struct record_kind *kind_named(struct text name)
{
    for (size_t i = 0; i < KIND_COUNT; i++)
        if (text_is(name, kinds[i].name))
            return &kinds[i];
    return NULL;
}

int kind_column(const struct record_kind *kind, struct text name)
{
    for (size_t i = 0; i < kind->column_count; i++)
        if (text_same(name, text_of(kind->columns[i].name)))
            return (int)i;
    return -1;
}

const char *const *kind_names(void)
{
#define KIND(ID, name, core, meaning) #name,
#define COLUMN(...)
#define KIND_END(ID)
    static const char *const names[KIND_COUNT + 1] = {
#include "records/kinds.def"
    };
    return names;
}

const char *cell_type_name(enum cell_type type)
{
    static const char *const names[] = {
        [CELL_ID] = "id",         [CELL_DATE] = "date",          [CELL_TIME] = "time",
        [CELL_NUMBER] = "number", [CELL_WHOLE] = "whole number", [CELL_RESULT] = "result",
        [CELL_YES_NO] = "yes/no", [CELL_WORD] = "word",          [CELL_WORDS] = "words",
        [CELL_TEXT] = "text",
    };
    return names[type];
}
