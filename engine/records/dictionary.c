/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "records/dictionary.h"

#include "records/kinds.h"

static const char introduction[] =
    "# Records\n"
    "\n"
    "What a site writes down, log by log. This page is made from the table that the program itself reads\n"
    "(`engine/records/kinds.def`) by `make docs`; change the table, not the page.\n"
    "\n"
    "A log is a CSV file in the site's `records/` folder: `KIND.csv`, or `KIND-` and anything (`tests-2026-10.csv`), "
    "or any\n"
    "`.csv` file in a folder `records/KIND/`. The first row names the columns, in any order and case. A cell that is "
    "empty\n"
    "says nothing. Columns that are not listed here are left out, and the program says so. Where a log was put behind "
    "another\n"
    "with its header row, the rows behind that are read by it; the program says that, too.\n"
    "\n"
    "**Needed**: a row without it is refused. **Key**: rows with the same key are one record; when a later load finds "
    "other\n"
    "values under a known key, the record is amended and the change is remembered.\n"
    "\n"
    "| type | how it is written |\n"
    "| --- | --- |\n"
    "| id | 1 to 64 characters that print; upper and lower case differ |\n"
    "| date | `2026-10-07`, from 2000 to 2099 |\n"
    "| time | `2026-10-07 09:12`, with seconds where they are known; the site's own clock |\n"
    "| number | digits with or without a decimal point, `5.4`; no thousands marks, no exponent |\n"
    "| whole number | digits only, at most 15 |\n"
    "| result | a number, `<` or `>` and a number where the analyzer reports beyond its range, or a word; up to 200 "
    "characters |\n"
    "| yes/no | `yes` or `no`; `y`, `n`, `true`, `false`, `1` and `0` are read too |\n"
    "| word | one of the words listed |\n"
    "| words | any of the words listed, with `;` between |\n"
    "| text | free text of up to 4,000 characters |\n";

static const char core_note[] = " A core log: without it the rules judge as if it were empty.";

static void print_words(struct output *output, const struct column *column)
{
    const char *divider = " One of ";
    if (column->words == NULL)
        return;
    if (column->type == CELL_WORDS)
        divider = " Any of ";
    for (const char *const *word = column->words; *word != NULL; word++, divider = ", ")
        output_print(output, "%s`%s`", divider, *word);
    output_print(output, ".");
}

static void print_column(struct output *output, const struct column *column)
{
    const char *needed = column->flags & COLUMN_REQUIRED ? "yes" : "";
    const char *key = column->flags & COLUMN_KEY ? "yes" : "";
    output_print(output, "| %s | %s | %s | %s | %s", column->name, cell_type_name(column->type), needed, key,
                 column->meaning);
    print_words(output, column);
    if (column->unit != NULL)
        output_print(output, " In %s.", column->unit);
    output_print(output, " |\n");
}

static void print_kind(struct output *output, const struct record_kind *kind)
{
    output_print(output, "\n## %s\n\n%s%s\n", kind->name, kind->meaning, kind->core ? core_note : "");
    if (kind->event_column >= 0)
        output_print(output, "A record happens at its `%s`: the period of an audit goes by it.\n",
                     kind->columns[kind->event_column].name);
    output_print(output, "\n| column | type | needed | key | meaning |\n| --- | --- | --- | --- | --- |\n");
    for (size_t i = 0; i < kind->column_count; i++)
        print_column(output, &kind->columns[i]);
}

void dictionary_print(struct output *output)
{
    output_print(output, "%s", introduction);
    for (int i = 0; i < KIND_COUNT; i++)
        print_kind(output, kind_of((enum kind_id)i));
}
