/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>

#include "findings/answers.h"

enum { ABSENT = DAY_ABSENT };

/* Actions as rows of a log; what they are about does not matter here. */
static const struct {
    const char *action, *finding, *verified_by;
    day_number opened_on, closed_on;
} rows[] = {
    {"A1", "F-B", NULL, 100, ABSENT},  {"A2", "F-B", NULL, 101, ABSENT}, {"A3", "F-B", NULL, 102, 110},
    {"A4", "F-A", "ann", 100, 105},    {"A5", "F-A", NULL, 109, ABSENT}, {"A6", NULL, "ben", 100, 101},
    {"A7", "F-C", "ann", 100, 105},    {"A8", "F-C", "ben", 90, 95},     {"A9", "F-C", "ben", 91, 96},
    {"A10", "F-D", "ben", 91, ABSENT}, {"A11", "F-E", "ann", 100, 101},  {"A12", "F-F", "ben", 110, 112},
    {"A13", "F-F", "ben", 105, 120},   {"A14", "F-F", NULL, 90, ABSENT}, {"A15", "F-G", "ben", 90, 100},
    {"A16", "F-H", "-", 100, 101},     {"A17", "F-I", "ben", 100, 99},   {"A18", "F-J", "ANN", 100, 101},
};

static struct cell text_cell(const char *string)
{
    return (struct cell){.present = string != NULL, .text = text_of(string)};
}

static struct cell id_cell(struct names *names, const char *string)
{
    struct cell cell = text_cell(string);
    cell.whole = names_add(names, cell.text);
    return cell;
}

static struct cell day_cell(day_number day)
{
    return (struct cell){.present = day != ABSENT, .whole = day == ABSENT ? 0 : day};
}

static void make_history(struct history *history)
{
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cell cells[COLUMNS_MOST] = {{0}};
        cells[COL(ACTIONS, action)] = text_cell(rows[i].action);
        cells[COL(ACTIONS, finding)] = text_cell(rows[i].finding);
        cells[COL(ACTIONS, owner)] = id_cell(history->names, "ann");
        cells[COL(ACTIONS, problem)] = text_cell("x");
        cells[COL(ACTIONS, verified_by)] = id_cell(history->names, rows[i].verified_by);
        cells[COL(ACTIONS, opened_on)] = day_cell(rows[i].opened_on);
        cells[COL(ACTIONS, closed_on)] = day_cell(rows[i].closed_on);
        struct stored_row row = {
            .cells = cells, .file = names_add(history->names, TEXT("records/actions.csv")), .line = (uint32_t)i + 2};
        history_row(history, kind_of(KIND_ACTIONS), &row);
    }
    history_ready(history);
}

Test(answers, of_several_actions_the_one_that_settles_comes_first_then_the_newest_that_is_open)
{
    static const struct {
        const char *finding, *action;
        bool settled;
    } expected[] = {
        {"F-A", "A5", false},                                                /* its owner verified A4 */
        {"F-B", "A2", false},  {"F-C", "A9", true},   {"F-D", "A10", false}, /* verified, but not closed */
        {"F-E", "A11", false}, {"F-H", "A16", false},                        /* a dash is nobody */
        {"F-I", "A17", false},                                               /* closed before it was opened */
        {"F-J", "A18", false},
    };
    static const struct site_settings settings = {.site = TEXT("clinic")};
    AUTO(arena) arena = arena_new();
    AUTO(names) names = names_new();
    AUTO(history) history = history_new(&settings, names, 200);
    struct site_result site = {.site = TEXT("clinic")};
    make_history(history);
    answers_read(&site, history, arena);
    cr_assert_eq(site.answer_count, 17, "those that name a finding");
    for (size_t i = 0; i < sizeof expected / sizeof *expected; i++) {
        const struct finding_answer *answer = answer_of(&site, text_of(expected[i].finding), DAY_ABSENT);
        cr_assert_not_null(answer, "%s", expected[i].finding);
        cr_expect(text_is(answer->action, expected[i].action), "%s: %.*s", expected[i].finding,
                  TEXT_FORMAT(answer->action));
        cr_expect_eq(answer_settles(answer), expected[i].settled, "%s", expected[i].finding);
        cr_expect(text_is(answer->place.file, "records/actions.csv"));
    }
    cr_expect_null(answer_of(&site, TEXT("F-Z"), DAY_ABSENT));
    cr_expect_null(answer_of(&site, TEXT(""), DAY_ABSENT));
}

Test(answers, what_happened_after_the_action_was_closed_is_not_settled_by_it)
{
    static const struct {
        const char *finding, *action;
        day_number last;
        bool covered;
    } expected[] = {
        {"F-C", "A9", ABSENT, true}, {"F-C", "A9", 96, true},    {"F-C", "A7", 97, false}, {"F-F", "A13", 120, true},
        {"F-F", "A14", 121, false},  {"F-G", "A15", 101, false}, /* no other action names it */
    };
    static const struct site_settings settings = {.site = TEXT("clinic")};
    AUTO(arena) arena = arena_new();
    AUTO(names) names = names_new();
    AUTO(history) history = history_new(&settings, names, 200);
    struct site_result site = {.site = TEXT("clinic")};
    make_history(history);
    answers_read(&site, history, arena);
    for (size_t i = 0; i < sizeof expected / sizeof *expected; i++) {
        const struct finding_answer *answer = answer_of(&site, text_of(expected[i].finding), expected[i].last);
        cr_assert_not_null(answer, "%s", expected[i].finding);
        cr_expect(text_is(answer->action, expected[i].action), "%s: %.*s", expected[i].finding,
                  TEXT_FORMAT(answer->action));
        cr_expect_eq(answer_covers(answer, expected[i].last), expected[i].covered, "%s", expected[i].finding);
    }
}
