/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/people.h"

#include <math.h>

#include "reports/phrases.h"
#include "reports/pictures/marks.h"
#include "reports/pictures/people_rows.h"

enum {
    ROWS_MOST = 26,
    LEFT = 84,   /* of the time axis */
    RIGHT = 222, /* its end; words of how a person stands follow */
    WORDS = RIGHT + 6,
    TOP = 9,
    ROW = 16,
    SECOND_LINE = 10,
    HEADING = 18,
    MONTHS_BACK = 14, /* from the month of the period's last day */
    MONTHS_AHEAD = 13,
    DESCRIBED = 12, /* rows that the description names */
};

struct people {
    struct drawing *drawing;
    const struct portrait *portrait;
    struct time_axis time;
    bool seen[4]; /* marks that the key must explain: initial, competency, retraining, failed */
    double y;
};

static bool needs(const struct person_row *row) { return row->state <= PERSON_SOON || row->lapse_from != DAY_ABSENT; }

/* ---- a row ---- */

static bool on_axis(const struct people *people, day_number day)
{
    return day >= people->time.from && day <= people->time.to;
}

static void draw_span(const struct people *people, struct person_span span, double y)
{
    if (span.to < people->time.from || span.from > people->time.to)
        return;
    double left = mark_day(&people->time, span.from), right = mark_day(&people->time, span.to + 1);
    drawing_line(people->drawing, (struct point){left, y}, (struct point){right, y},
                 (struct pen){.stroke = INK_INK, .width = 1.6});
    if (!span.cut && on_axis(people, span.to))
        drawing_line(people->drawing, (struct point){right, y - 3.5}, (struct point){right, y + 3.5}, mark_plain);
}

static size_t mark_of(const struct portrait_training *training)
{
    if (text_is(training->outcome, "fail"))
        return 3;
    return text_is(training->event, "initial") ? 0 : text_is(training->event, "retraining") ? 2 : 1;
}

static void draw_mark(struct drawing *drawing, size_t mark, struct point at)
{
    static const struct pen hollow = {.stroke = INK_INK, .fill = INK_PAPER, .width = 1.1}, solid = {.fill = INK_INK};
    if (mark == 3)
        mark_diamond(drawing, at, 4.2, hollow);
    else if (mark == 2)
        mark_triangle(drawing, at, 3.6, solid);
    else
        drawing_disc(drawing, at, 2.6, mark == 0 ? hollow : solid);
}

/* A lapse is short on a line of years, so it is marked by two strokes across the line. */
static void draw_lapse(const struct people *people, const struct person_row *row, double y)
{
    double next = mark_day(&people->time, row->lapse_to + 1);
    double middle = fmin((mark_day(&people->time, row->lapse_from) + next) / 2, next - 7);
    drawing_box(people->drawing, (struct point){middle - 2, y - 4}, 4, 8, (struct pen){.fill = INK_PAPER});
    for (int side = -1; side <= 1; side += 2)
        drawing_line(people->drawing, (struct point){middle + 2 * side - 1.2, y + 5},
                     (struct point){middle + 2 * side + 1.2, y - 5}, mark_plain);
}

static void draw_line_of(struct people *people, const struct person_row *row, double y)
{
    struct person_span span;
    drawing_line(people->drawing, (struct point){LEFT, y}, (struct point){RIGHT, y}, mark_hairline);
    for (size_t i = 0; i < row->count; i++)
        if (person_span(row, i, &span))
            draw_span(people, span, y);
    if (row->lapse_from != DAY_ABSENT)
        draw_lapse(people, row, y);
    for (size_t i = 0; i < row->count; i++) {
        if (!on_axis(people, row->trainings[i].held_on))
            continue;
        size_t mark = mark_of(&row->trainings[i]);
        draw_mark(people->drawing, mark, (struct point){mark_day(&people->time, row->trainings[i].held_on), y});
        people->seen[mark] = true;
    }
}

static struct text lapse_says(struct arena *arena, const struct person_row *row)
{
    struct text from = mark_date(arena, row->lapse_from), to = mark_date(arena, row->lapse_to);
    if (row->lapse_from == row->lapse_to)
        return text_print(arena, "out %.*s", TEXT_FORMAT(from));
    return text_print(arena, "out %.*s to %.*s", 5, from.data + 5, 5, to.data + 5);
}

static void draw_row(struct people *people, const struct person_row *row)
{
    struct arena *arena = people->drawing->arena;
    const struct portrait_operator *operator_ = row->operator_;
    struct text name = operator_->name.size > 0 ? text_print(arena, "%.*s %.*s", TEXT_FORMAT(operator_->operator_),
                                                             TEXT_FORMAT(operator_->name))
                                                : operator_->operator_;
    double foot = people->y + 11, height = row->lapse_from == DAY_ABSENT ? ROW : ROW + SECOND_LINE;
    mark_as_of(people->drawing, &people->time, people->portrait->as_of, people->y, people->y + height);
    drawing_text(people->drawing, (struct point){0, foot}, AXIS_LETTERS, ANCHOR_START, INK_INK,
                 fit_text(arena, name, AXIS_LETTERS, LEFT - 6));
    draw_line_of(people, row, people->y + 8);
    bool strong = row->state <= PERSON_SOON;
    (strong ? drawing_strong : drawing_text)(people->drawing, (struct point){WORDS, foot}, AXIS_LETTERS, ANCHOR_START,
                                             strong ? INK_INK : INK_QUIET,
                                             fit_text(arena, row->says, AXIS_LETTERS, MARKS_WIDTH - WORDS));
    people->y += height;
    if (row->lapse_from == DAY_ABSENT)
        return;
    drawing_strong(people->drawing, (struct point){WORDS, foot + SECOND_LINE}, AXIS_LETTERS, ANCHOR_START, INK_INK,
                   fit_text(arena, lapse_says(arena, row), AXIS_LETTERS, MARKS_WIDTH - WORDS));
}

/* ---- the whole ---- */

static struct text description(struct arena *arena, const struct person_row *rows, size_t count)
{
    AUTO(output) says = output_memory();
    size_t needed = 0, said = 0;
    for (size_t i = 0; i < count; i++)
        needed += needs(&rows[i]);
    output_print(says, "%.*s, a row each; %zu need something.",
                 TEXT_FORMAT(phrase_count(arena, count, "person and method", "persons and methods")), needed);
    for (size_t i = 0; i < count && said < DESCRIBED; i++) {
        if (!needs(&rows[i]))
            continue;
        said++;
        output_print(says, " %.*s, %.*s: %.*s", TEXT_FORMAT(rows[i].operator_->operator_),
                     TEXT_FORMAT(rows[i].method.size ? rows[i].method : TEXT("any method")), TEXT_FORMAT(rows[i].says));
        if (rows[i].lapse_from != DAY_ABSENT)
            output_print(says, ", %.*s", TEXT_FORMAT(lapse_says(arena, &rows[i])));
        output_print(says, ".");
    }
    if (needed > said)
        output_print(says, " And %zu more.", needed - said);
    return output_words(arena, says);
}

static void draw_key(struct people *people)
{
    static const char *const words[] = {"initial training", "assessment", "retraining", "failed"};
    struct key key = {people->drawing, 0, people->y};
    for (size_t i = 0; i < 4; i++) {
        if (!people->seen[i])
            continue;
        draw_mark(people->drawing, i, key_mark(&key));
        key_says(&key, words[i]);
    }
    struct point at = key_mark(&key);
    drawing_line(people->drawing, (struct point){at.x - 3, at.y}, (struct point){at.x + 4, at.y}, mark_heavy);
    drawing_line(people->drawing, (struct point){at.x + 4, at.y - 3.5}, (struct point){at.x + 4, at.y + 3.5},
                 mark_plain);
    key_says(&key, "competent, to its last day");
    people->y += 4;
}

static void draw_rows(struct people *people, const struct person_row *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (i == 0 || !text_equal(rows[i].method, rows[i - 1].method)) {
            mark_as_of(people->drawing, &people->time, people->portrait->as_of, people->y + (i == 0 ? 4 : 0),
                       people->y + HEADING);
            drawing_strong(people->drawing, (struct point){0, people->y + 13}, AXIS_LETTERS, ANCHOR_START, INK_INK,
                           fit_text(people->drawing->arena, rows[i].method.size ? rows[i].method : TEXT("any method"),
                                    AXIS_LETTERS, LEFT + 60));
            people->y += HEADING;
        }
        draw_row(people, &rows[i]);
    }
}

static void say_left_out(struct people *people, size_t left_out)
{
    struct text says =
        text_print(people->drawing->arena,
                   "%zu more rows, with more time left, are left out; see records/training.csv.", left_out);
    drawing_text(people->drawing, (struct point){0, people->y + 10}, AXIS_LETTERS, ANCHOR_START, INK_INK, says);
    people->y += 14;
}

struct drawing *people_picture(struct arena *arena, const struct portrait *portrait)
{
    size_t count, left_out;
    const struct person_row *rows = person_rows(arena, portrait, ROWS_MOST, &count, &left_out);
    day_number month = portrait->to - day_civil(portrait->to).day + 1;
    struct people people = {
        .drawing = drawing_new(arena, MARKS_WIDTH, 30, TEXT("Who was trained, and until when it lasts"),
                               description(arena, rows, count)),
        .portrait = portrait,
        .time = {day_add_months(month, -MONTHS_BACK), day_add_months(month, MONTHS_AHEAD) - 1, LEFT, RIGHT},
        .y = TOP,
    };
    if (count == 0) {
        drawing_text(people.drawing, (struct point){0, 14}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                     TEXT("There is no training on the log."));
        return people.drawing;
    }
    mark_as_of_label(people.drawing, &people.time, portrait->as_of, TOP);
    draw_rows(&people, rows, count);
    mark_time(people.drawing, &people.time, people.y);
    people.y += 16;
    if (left_out > 0)
        say_left_out(&people, left_out);
    people.y += 13;
    draw_key(&people);
    people.drawing->height = people.y;
    return people.drawing;
}
