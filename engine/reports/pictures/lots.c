/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/lots.h"

#include <math.h>
#include <stdlib.h>

#include "reports/phrases.h"
#include "reports/pictures/marks.h"

enum {
    LOTS_MOST = 30,
    CODED_MOST = 12, /* analyzers with codes */
    LEFT = 84,
    RIGHT = 218,
    WORDS = RIGHT + 6,
    TOP = 12,
    ROW = 17,
    SECOND_LINE = 10,
    BAR = 7,
    HEADING = 18,
    MONTHS_BACK = 3, /* from the month of the period's first day */
    MONTHS_AHEAD = 5,
};

struct stock {
    struct drawing *drawing;
    const struct portrait *portrait;
    struct time_axis time;
    double y;
    bool seen_late, seen_discarded; /* marks that the key must explain */
};

struct lot_row { /* the levels of a control lot are one row */
    struct portrait_lot lot;
    bool late; /* used past its last good day */
};

/* ---- what is shown ---- */

static bool same_lot(const struct portrait_lot *a, const struct portrait_lot *b)
{
    return a->is_control == b->is_control && text_equal(a->lot, b->lot) && text_equal(a->method, b->method) &&
           a->received_on == b->received_on && a->expires_on == b->expires_on;
}

static void join(struct portrait_lot *lot, const struct portrait_lot *level)
{
    if (level->first_run_on != DAY_ABSENT &&
        (lot->first_run_on == DAY_ABSENT || level->first_run_on < lot->first_run_on))
        lot->first_run_on = level->first_run_on;
    if (level->last_run_on > lot->last_run_on)
        lot->last_run_on = level->last_run_on;
    lot->tests += level->tests;
}

static int by_use(const void *a, const void *b)
{
    const struct lot_row *x = a, *y = b;
    if (x->late != y->late)
        return x->late ? -1 : 1;
    if (x->lot.tests != y->lot.tests)
        return x->lot.tests > y->lot.tests ? -1 : 1;
    int order = text_compare(x->lot.method, y->lot.method);
    return order ? order : text_compare(x->lot.lot, y->lot.lot);
}

static int by_method_use_received(const void *a, const void *b)
{
    const struct portrait_lot *x = &((const struct lot_row *)a)->lot, *y = &((const struct lot_row *)b)->lot;
    int order = text_compare(x->method, y->method);
    if (!order)
        order = x->is_control - y->is_control;
    if (!order && x->received_on != y->received_on)
        order = x->received_on < y->received_on ? -1 : 1;
    return order ? order : text_compare(x->lot, y->lot);
}

static struct lot_row *rows_of(struct arena *arena, const struct portrait *portrait, size_t *count, size_t *left_out)
{
    struct lot_row *rows = arena_take(arena, (portrait->lot_count + 1) * sizeof *rows);
    *count = *left_out = 0;
    for (size_t i = 0; i < portrait->lot_count; i++) {
        const struct portrait_lot *lot = &portrait->lots[i];
        if (*count > 0 && lot->is_control && same_lot(&rows[*count - 1].lot, lot))
            join(&rows[*count - 1].lot, lot);
        else
            rows[(*count)++].lot = *lot;
    }
    for (size_t i = 0; i < *count; i++)
        rows[i].late = rows[i].lot.last_run_on != DAY_ABSENT && rows[i].lot.last_run_on > rows[i].lot.expires_on;
    if (*count > LOTS_MOST) {
        qsort(rows, *count, sizeof *rows, by_use);
        *left_out = *count - LOTS_MOST;
        *count = LOTS_MOST;
    }
    if (*count)
        qsort(rows, *count, sizeof *rows, by_method_use_received);
    return rows;
}

/* ---- a lot ---- */

static bool on_axis(const struct stock *stock, day_number day)
{
    return day != DAY_ABSENT && day >= stock->time.from && day <= stock->time.to;
}

static void draw_as_of(const struct stock *stock, double height)
{
    mark_as_of(stock->drawing, &stock->time, stock->portrait->as_of, stock->y, stock->y + height);
}

/* From the day it came in to its last good day; open where the axis cuts it. */
static void draw_shelf_life(const struct stock *stock, const struct portrait_lot *lot, double middle)
{
    double left = mark_day(&stock->time, lot->received_on), right = mark_day(&stock->time, lot->expires_on + 1);
    double top = middle - BAR / 2.0, bottom = middle + BAR / 2.0;
    drawing_box(stock->drawing, (struct point){left, top}, right - left, BAR, (struct pen){.fill = INK_TINT});
    drawing_line(stock->drawing, (struct point){left, top}, (struct point){right, top}, mark_quiet);
    drawing_line(stock->drawing, (struct point){left, bottom}, (struct point){right, bottom}, mark_quiet);
    if (on_axis(stock, lot->received_on))
        drawing_line(stock->drawing, (struct point){left, top}, (struct point){left, bottom}, mark_quiet);
    if (on_axis(stock, lot->expires_on))
        drawing_line(stock->drawing, (struct point){right, middle - 6}, (struct point){right, middle + 6}, mark_heavy);
}

static void draw_use(const struct stock *stock, const struct lot_row *row, double middle)
{
    const struct portrait_lot *lot = &row->lot;
    if (lot->first_run_on == DAY_ABSENT)
        return;
    double left = mark_day(&stock->time, lot->first_run_on), right = mark_day(&stock->time, lot->last_run_on + 1);
    double expiry = mark_day(&stock->time, lot->expires_on + 1);
    double end = row->late && expiry > left ? expiry : right;
    if (!row->late || lot->first_run_on <= lot->expires_on)
        drawing_line(stock->drawing, (struct point){left, middle}, (struct point){end, middle},
                     (struct pen){.stroke = INK_INK, .width = 3});
}

/* Use past the last good day stands clear of that day's stroke; then words alone say when the lot was thrown away. */
static void draw_end(struct stock *stock, const struct lot_row *row, double middle)
{
    const struct portrait_lot *lot = &row->lot;
    if (row->late) {
        double at =
            fmax(mark_day(&stock->time, lot->last_run_on + 1), mark_day(&stock->time, lot->expires_on + 1) + 6.5);
        mark_diamond(stock->drawing, (struct point){at, middle}, 4.2,
                     (struct pen){.stroke = INK_INK, .fill = INK_PAPER, .width = 1.3});
        stock->seen_late = true;
    } else if (on_axis(stock, lot->discarded_on)) {
        mark_cross(stock->drawing, (struct point){mark_day(&stock->time, lot->discarded_on + 1), middle}, 3.2,
                   (struct pen){.stroke = INK_INK, .width = 1.3});
        stock->seen_discarded = true;
    }
}

static void draw_openings(const struct stock *stock, const struct portrait_lot *lot, double middle)
{
    for (size_t i = 0; i < lot->opening_count; i++) {
        if (!on_axis(stock, lot->opened_on[i]))
            continue;
        double x = mark_day(&stock->time, lot->opened_on[i]);
        drawing_line(stock->drawing, (struct point){x, middle - 6.5}, (struct point){x, middle - 2}, mark_plain);
    }
}

static struct text lot_says(const struct stock *stock, const struct lot_row *row)
{
    struct arena *arena = stock->drawing->arena;
    const struct portrait_lot *lot = &row->lot;
    if (row->late)
        return text_print(arena, "used past %.*s", TEXT_FORMAT(mark_date(arena, lot->expires_on)));
    if (lot->discarded_on != DAY_ABSENT)
        return text_print(arena, "discarded %.*s", TEXT_FORMAT(mark_date(arena, lot->discarded_on)));
    return text_print(arena, "%s %.*s", lot->expires_on < stock->portrait->as_of ? "expired" : "expires",
                      TEXT_FORMAT(mark_date(arena, lot->expires_on)));
}

static void draw_lot(struct stock *stock, const struct lot_row *row)
{
    const struct portrait_lot *lot = &row->lot;
    struct arena *arena = stock->drawing->arena;
    double middle = stock->y + 9, foot = stock->y + 12;
    draw_as_of(stock, ROW);
    struct text name = fit_text(arena, lot->lot, AXIS_LETTERS, LEFT - 6);
    drawing_text(stock->drawing, (struct point){0, foot}, AXIS_LETTERS, ANCHOR_START, INK_INK, name);
    double used = drawing_text_width(name, AXIS_LETTERS) + 6;
    if (lot->code.size > 0 && used < LEFT - 30)
        drawing_text(
            stock->drawing, (struct point){LEFT - 6, foot}, AXIS_LETTERS, ANCHOR_END, INK_QUIET,
            fit_text(arena, text_print(arena, "code %.*s", TEXT_FORMAT(lot->code)), AXIS_LETTERS, LEFT - 6 - used));
    draw_shelf_life(stock, lot, middle);
    draw_use(stock, row, middle);
    draw_openings(stock, lot, middle);
    draw_end(stock, row, middle);
    (row->late ? drawing_strong : drawing_text)(
        stock->drawing, (struct point){WORDS, foot}, AXIS_LETTERS, ANCHOR_START, row->late ? INK_INK : INK_QUIET,
        fit_text(arena, lot_says(stock, row), AXIS_LETTERS, MARKS_WIDTH - WORDS));
    stock->y += ROW;
    if (!row->late || lot->discarded_on == DAY_ABSENT)
        return;
    draw_as_of(stock, SECOND_LINE);
    drawing_text(stock->drawing, (struct point){WORDS, foot + SECOND_LINE}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                 text_print(arena, "discarded %.*s", TEXT_FORMAT(mark_date(arena, lot->discarded_on))));
    stock->y += SECOND_LINE;
}

static void draw_heading(struct stock *stock, struct text words)
{
    draw_as_of(stock, HEADING);
    drawing_strong(stock->drawing, (struct point){0, stock->y + 13}, AXIS_LETTERS, ANCHOR_START, INK_INK,
                   fit_text(stock->drawing->arena, words, AXIS_LETTERS, MARKS_WIDTH));
    stock->y += HEADING;
}

static void draw_lots(struct stock *stock, const struct lot_row *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const struct portrait_lot *lot = &rows[i].lot, *before = i ? &rows[i - 1].lot : NULL;
        if (!before || !text_equal(before->method, lot->method) || before->is_control != lot->is_control)
            draw_heading(stock, text_print(stock->drawing->arena, "%.*s, %s", TEXT_FORMAT(lot->method),
                                           lot->is_control ? "controls" : "reagents"));
        draw_lot(stock, &rows[i]);
    }
}

/* ---- codes ---- */

/* On a ground of paper, for the line of as-of would run through it. */
static void draw_code(const struct stock *stock, struct text code, double left, double foot)
{
    double width = drawing_text_width(code, AXIS_LETTERS);
    drawing_box(stock->drawing, (struct point){left, foot - AXIS_LETTERS + 1}, width, AXIS_LETTERS,
                (struct pen){.fill = INK_PAPER});
    drawing_text(stock->drawing, (struct point){left, foot}, AXIS_LETTERS, ANCHOR_START, INK_INK, code);
}

/* The codes of one analyzer, in their order: a stroke where each was put in, its name behind it if there is room. */
static struct text draw_codes_along(const struct stock *stock, struct text analyzer, double foot)
{
    const struct portrait *portrait = stock->portrait;
    double free_from = LEFT;
    struct text standing = {0};
    for (size_t i = 0; i < portrait->code_count; i++) {
        const struct portrait_code *code = &portrait->codes[i];
        if (!text_equal(code->analyzer, analyzer))
            continue;
        double x = time_axis_at(&stock->time, code->at);
        if (standing.size > 0 && drawing_text_width(standing, AXIS_LETTERS) < x - free_from - 3)
            draw_code(stock, standing, free_from + 2, foot);
        if (moment_day(code->at, 0) >= stock->time.from)
            drawing_line(stock->drawing, (struct point){x, foot - 8}, (struct point){x, foot + 5}, mark_heavy);
        standing = code->code;
        free_from = x;
    }
    struct text last = fit_text(stock->drawing->arena, standing, AXIS_LETTERS, RIGHT - free_from - 3);
    draw_code(stock, last, free_from + 3, foot);
    return standing;
}

static void draw_codes_of(struct stock *stock, struct text analyzer)
{
    struct arena *arena = stock->drawing->arena;
    double foot = stock->y + 12;
    draw_as_of(stock, ROW + 3);
    drawing_text(stock->drawing, (struct point){0, foot}, AXIS_LETTERS, ANCHOR_START, INK_INK,
                 fit_text(arena, analyzer, AXIS_LETTERS, LEFT - 6));
    drawing_line(stock->drawing, (struct point){LEFT, foot + 2.5}, (struct point){RIGHT, foot + 2.5}, mark_quiet);
    struct text now = draw_codes_along(stock, analyzer, foot);
    drawing_text(stock->drawing, (struct point){WORDS, foot}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                 fit_text(arena, text_print(arena, "now %.*s", TEXT_FORMAT(now)), AXIS_LETTERS, MARKS_WIDTH - WORDS));
    stock->y += ROW + 3;
}

static void draw_codes(struct stock *stock)
{
    size_t drawn = 0, coded = 0;
    const struct portrait *portrait = stock->portrait;
    for (size_t i = 0; i < portrait->analyzer_count; i++) {
        struct text analyzer = portrait->analyzers[i].analyzer;
        bool any = false;
        for (size_t c = 0; c < portrait->code_count && !any; c++)
            any = text_equal(portrait->codes[c].analyzer, analyzer);
        coded += any;
        if (!any || drawn == CODED_MOST)
            continue;
        if (drawn++ == 0)
            draw_heading(stock, TEXT("Code in the analyzer"));
        draw_codes_of(stock, analyzer);
    }
    if (coded == drawn)
        return;
    drawing_text(stock->drawing, (struct point){0, stock->y + 10}, AXIS_LETTERS, ANCHOR_START, INK_INK,
                 text_print(stock->drawing->arena, "%zu more analyzers are left out; see %.*s.", coded - drawn,
                            TEXT_FORMAT(portrait->codes[0].place.file)));
    stock->y += 14;
}

/* ---- the whole ---- */

static struct text description(struct arena *arena, const struct lot_row *rows, size_t count, size_t left_out)
{
    AUTO(output) says = output_memory();
    size_t late = 0;
    output_print(says, "%.*s.", TEXT_FORMAT(phrase_count(arena, count + left_out, "lot", "lots")));
    for (size_t i = 0; i < count; i++) {
        const struct portrait_lot *lot = &rows[i].lot;
        output_print(says, " %.*s: in %.*s, good to %.*s", TEXT_FORMAT(lot->lot),
                     TEXT_FORMAT(mark_date(arena, lot->received_on)), TEXT_FORMAT(mark_date(arena, lot->expires_on)));
        if (lot->first_run_on != DAY_ABSENT)
            output_print(says, ", used %.*s to %.*s", TEXT_FORMAT(mark_date(arena, lot->first_run_on)),
                         TEXT_FORMAT(mark_date(arena, lot->last_run_on)));
        output_print(says, "%s", rows[i].late ? ", past its last good day." : ".");
        late += rows[i].late;
    }
    output_print(says, " Used past the last good day: %zu.", late);
    return output_words(arena, says);
}

static void draw_key(struct stock *stock)
{
    struct drawing *drawing = stock->drawing;
    struct key key = {drawing, 0, stock->y};
    struct point at = key_mark(&key);
    drawing_box(drawing, (struct point){at.x - 3, at.y - 3}, 8, 6,
                (struct pen){.stroke = INK_QUIET, .fill = INK_TINT, .width = .5});
    key.x += 3;
    key_says(&key, "at hand and in date");
    at = key_mark(&key);
    drawing_line(drawing, (struct point){at.x - 3, at.y}, (struct point){at.x + 4, at.y},
                 (struct pen){.stroke = INK_INK, .width = 3});
    key.x += 2;
    key_says(&key, "in use");
    at = key_mark(&key);
    drawing_line(drawing, (struct point){at.x, at.y - 3}, (struct point){at.x, at.y + 1.5}, mark_plain);
    key_says(&key, "opened");
    at = key_mark(&key);
    drawing_line(drawing, (struct point){at.x, at.y - 5}, (struct point){at.x, at.y + 4}, mark_heavy);
    key_says(&key, "last good day");
    if (!stock->seen_late && !stock->seen_discarded)
        return;
    stock->y += 13;
    key = (struct key){drawing, 0, stock->y};
    if (stock->seen_late) {
        mark_diamond(drawing, key_mark(&key), 4.2, (struct pen){.stroke = INK_INK, .fill = INK_PAPER, .width = 1.3});
        key_says(&key, "used past it");
    }
    if (stock->seen_discarded) {
        mark_cross(drawing, key_mark(&key), 3, (struct pen){.stroke = INK_INK, .width = 1.3});
        key_says(&key, "discarded");
    }
}

static void say_left_out(struct stock *stock, size_t left_out)
{
    drawing_text(stock->drawing, (struct point){0, stock->y + 10}, AXIS_LETTERS, ANCHOR_START, INK_INK,
                 text_print(stock->drawing->arena, "%zu more lots, the least used, are left out; see %.*s.", left_out,
                            TEXT_FORMAT(stock->portrait->lots[0].place.file)));
    stock->y += 14;
}

struct drawing *lots_picture(struct arena *arena, const struct portrait *portrait)
{
    size_t count, left_out;
    const struct lot_row *rows = rows_of(arena, portrait, &count, &left_out);
    day_number first = portrait->from - day_civil(portrait->from).day + 1;
    day_number last = portrait->to - day_civil(portrait->to).day + 1;
    struct stock stock = {
        .drawing = drawing_new(arena, MARKS_WIDTH, 24, TEXT("Lots at hand and in use"),
                               description(arena, rows, count, left_out)),
        .portrait = portrait,
        .time = {day_add_months(first, -MONTHS_BACK), day_add_months(last, MONTHS_AHEAD) - 1, LEFT, RIGHT},
        .y = TOP,
    };
    if (count == 0) {
        drawing_text(stock.drawing, (struct point){0, 14}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                     TEXT("There is no lot on the log for this period."));
        return stock.drawing;
    }
    mark_as_of_label(stock.drawing, &stock.time, portrait->as_of, TOP - 3);
    draw_lots(&stock, rows, count);
    if (left_out > 0)
        say_left_out(&stock, left_out);
    draw_codes(&stock);
    mark_time(stock.drawing, &stock.time, stock.y);
    stock.y += 29;
    draw_key(&stock);
    stock.drawing->height = stock.y + 5;
    return stock.drawing;
}
