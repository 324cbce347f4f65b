/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Entries that the rules take as they stand and that do not say what they seem to: by somebody who was not there, of
 * lots that nobody lists, of words where numbers are meant. The reader is to judge them. */
#include <inttypes.h>

#include "base/utf8.h"
#include "rulebook/judged.h"
#include "rulebook/people.h"

struct look {
    const struct history *history;
    const struct people *people;
};

/* Is there a doubt about the cell? It is there. */
typedef bool doubts_function(const struct look *look, const struct record *record, const struct cell *cell,
                             day_number day);

/* ---- people ---- */

/* If no such log is kept, nobody is on it, and people.known says so. */
static bool was_away(const struct look *look, const struct record *record, const struct cell *who, day_number day)
{
    (void)record;
    const struct record *person = people_find(look->people, who->text, day);
    return look->history->kept[KIND_OPERATORS] && (!person || !person_is_there(person, day));
}

/* Of those on no log people.assessor tells. */
static bool was_there_another_time(const struct look *look, const struct record *record, const struct cell *assessor,
                                   day_number day)
{
    return people_find(look->people, assessor->text, day) && was_away(look, record, assessor, day);
}

static bool is_a_stranger(const struct look *look, const struct record *record, const struct cell *who, day_number day)
{
    return was_away(look, record, who, day) && !text_same(who->text, look->history->settings->director);
}

static bool owns_it(const struct look *look, const struct record *action, const struct cell *who, day_number day)
{
    struct text owner = record_cell(action, COL(ACTIONS, owner))->text;
    const struct record *person = people_find(look->people, who->text, day);
    return person && !text_same(owner, who->text) && people_find(look->people, owner, day) == person;
}

/* ---- what was entered ---- */

static const struct method_settings *method_of(const struct look *look, const struct record *record, int method_column,
                                               int analyzer_column, day_number day)
{
    uint32_t method = record_name(record, method_column);
    if (!method)
        method = history_method_of(look->history, record_name(record, analyzer_column), day);
    return method ? settings_method(look->history->settings, names_text(look->history->names, method)) : NULL;
}

static bool is_word_for_number(const struct look *look, const struct record *record, const struct cell *cell,
                               day_number day)
{
    const struct method_settings *method =
        method_of(look, record, COL(COMPARISONS, method), COL(COMPARISONS, analyzer), day);
    return method && method->word_count == 0 && result_of(cell->text).kind == RESULT_WORD;
}

static bool is_no_lot(const struct look *look, const struct record *record, const struct cell *lot, day_number day)
{
    const struct method_settings *method =
        method_of(look, record, COL(LOT_CHECKS, method), COL(LOT_CHECKS, analyzer), day);
    return method && !history_lot(look->history, (uint32_t)lot->whole, names_find(look->history->names, method->method),
                                  false, 0);
}

static bool is_no_number(const struct look *look, const struct record *record, const struct cell *cell, day_number day)
{
    (void)look, (void)record, (void)day;
    return cell->text.size != FINDING_NUMBER_SIZE - 1 || !text_starts(cell->text, "F-");
}

static bool cannot_be_read(const struct look *look, const struct record *record, const struct cell *cell,
                           day_number day)
{
    (void)look, (void)record, (void)day;
    return !cell->present || !utf8_can_be_read(cell->text);
}

/* ---- all of them ---- */

#define AWAY "is on no operators log, or was not at work that day"

static const struct doubt {
    enum kind_id kind;
    int column;
    int day_column; /* -1: the kind's own */
    bool asks_empty;
    doubts_function *doubts;
    const char *what;
} doubts[] = {
    {KIND_OPENINGS, COL(OPENINGS, operator), -1, false, was_away, AWAY},
    {KIND_CODES, COL(CODES, operator), -1, false, was_away, AWAY},
    {KIND_CLEANING, COL(CLEANING, operator), -1, false, was_away, AWAY},
    {KIND_TRAINING, COL(TRAINING, assessor), -1, false, was_there_another_time, "was not at work that day"},
    {KIND_TEMPERATURES, COL(TEMPERATURES, operator), -1, false, was_away, AWAY},
    {KIND_MAINTENANCE, COL(MAINTENANCE, operator), -1, false, was_away, AWAY},
    {KIND_COMPARISONS, COL(COMPARISONS, operator), -1, false, was_away, AWAY},
    {KIND_COMPARISONS, COL(COMPARISONS, result), -1, false, is_word_for_number,
     "a word, where the method has numbers; the same word as target counts as acceptable"},
    {KIND_LOT_CHECKS, COL(LOT_CHECKS, operator), -1, false, was_away, AWAY},
    {KIND_LOT_CHECKS, COL(LOT_CHECKS, old_lot), -1, false, is_no_lot, "the lots log has no such lot of the method"},
    {KIND_ACTIONS, COL(ACTIONS, verified_by), COL(ACTIONS, closed_on), false, is_a_stranger,
     "is not the director, and on no operators log or not at work the day that the action was closed"},
    {KIND_ACTIONS, COL(ACTIONS, verified_by), COL(ACTIONS, closed_on), false, owns_it,
     "owns the action as well, once by name and once by id"},
    {KIND_ACTIONS, COL(ACTIONS, taken), COL(ACTIONS, closed_on), true, cannot_be_read,
     "the action was closed without a word of what was done"},
    {KIND_ACTIONS, COL(ACTIONS, finding), -1, false, is_no_number,
     "is not one finding's number, so the action answers none"},
};

static day_number day_of(const struct history *history, const struct doubt *doubt, const struct record *record)
{
    const struct record_kind *kind = kind_of(doubt->kind);
    int column = doubt->day_column < 0 ? kind->event_column : doubt->day_column;
    return kind->columns[column].type == CELL_TIME ? history_day(history, record->at) : record_day(record, column);
}

/* What was closed up to the as-of answers the period's findings. */
static bool is_looked_at(const struct doubt *doubt, struct period period, day_number day)
{
    day_number last = doubt->kind == KIND_ACTIONS && period.as_of > period.to ? period.as_of : period.to;
    return day != DAY_ABSENT && day >= period.from && day <= last;
}

/* One warning with their number, however many there are. */
static void look_at_doubt(const struct look *look, struct audit *audit, struct period period, const struct doubt *doubt)
{
    const struct history *history = look->history;
    const struct record *first = NULL;
    size_t count = 0;
    for (size_t i = 0; i < history->record_count[doubt->kind]; i++) {
        const struct record *record = &history->records[doubt->kind][i];
        const struct cell *cell = record_cell(record, doubt->column);
        day_number day = day_of(history, doubt, record);
        if (!is_looked_at(doubt, period, day) || (!cell->present && !doubt->asks_empty) ||
            !doubt->doubts(look, record, cell, day))
            continue;
        first = first ? first : record;
        count++;
    }
    if (!first)
        return;
    const struct cell *cell = record_cell(first, doubt->column);
    bool is_shown = cell->present && utf8_can_be_read(cell->text);
    audit_add_warning(audit,
                      text_print(audit->arena, "%.*s: %.*s:%" PRIu32 ": %s: %.*s%s%s (such entries in the %s log: %zu)",
                                 TEXT_FORMAT(history->settings->site), TEXT_FORMAT(history_path(history, first->file)),
                                 first->line, kind_of(doubt->kind)->columns[doubt->column].name,
                                 TEXT_FORMAT(is_shown ? cell->text : TEXT("")), is_shown ? ": " : "", doubt->what,
                                 kind_of(doubt->kind)->name, count));
}

void audit_warn_of_entries(struct audit *audit, const struct history *history, struct period period)
{
    AUTO(people) people = people_new(history);
    struct look look = {history, people};
    for (size_t i = 0; i < sizeof doubts / sizeof *doubts; i++)
        look_at_doubt(&look, audit, period, &doubts[i]);
}
