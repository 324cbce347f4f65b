/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/calendar.h"

#include "reports/phrases.h"
#include "reports/pictures/marks.h"

enum {
    CALENDAR_DAYS_MOST = 42, /* longer periods become strips */
    STRIPS_MOST = 36,        /* months */
    NARROW = 24,             /* of a weekday on which nothing happens */
    HEAD = 14,
    CELL = 37,
    STRIP = 18,
    STRIP_LEFT = 44,
    DAYS_NAMED = 20, /* in the description */
};

#define SMALL_LETTERS 7.5

struct sheet {
    struct drawing *drawing;
    const struct portrait *portrait;
    const struct portrait_analyzer *analyzer;
    double left[8];  /* of the weekdays' columns, and the right end */
    size_t lacking;  /* days */
    bool has_months; /* more than one: then first days name theirs */
};

static const struct pen tint = {.fill = INK_TINT};

/* ---- what a day says ---- */

struct day_lacks day_lacks(struct arena *arena, const struct portrait_analyzer *analyzer,
                           const struct portrait_day *day)
{
    struct day_lacks lacks = {{0}, {0}};
    if (day->tests == 0)
        return lacks;
    bool short_of_levels = analyzer->controls && day->levels_good < analyzer->level_count;
    if (short_of_levels && day->controls_failed > 0)
        lacks.controls = TEXT("failed");
    else if (short_of_levels && analyzer->controls_daily && day->levels_good > 0)
        lacks.controls = text_print(arena, "%u of %u levels", day->levels_good, analyzer->level_count);
    else if (short_of_levels && analyzer->controls_daily)
        lacks.controls = day->controls_unjudged > 0 ? TEXT("not judged") : TEXT("no control");
    if (analyzer->cleaned_daily && day->cleanings == 0)
        lacks.cleaning = TEXT("not cleaned");
    return lacks;
}

static bool in_service(const struct sheet *sheet, size_t i)
{
    day_number day = sheet->portrait->from + (day_number)i;
    const struct portrait_analyzer *analyzer = sheet->analyzer;
    return (analyzer->in_service_on == DAY_ABSENT || day >= analyzer->in_service_on) &&
           (analyzer->retired_on == DAY_ABSENT || day <= analyzer->retired_on);
}

static bool lacks_any(struct day_lacks lacks) { return lacks.controls.size > 0 || lacks.cleaning.size > 0; }

static bool is_quiet(const struct portrait_day *day)
{
    return !day->is_open && day->tests == 0 && day->controls_good + day->controls_failed + day->controls_unjudged == 0;
}

static bool controls_done(const struct sheet *sheet, const struct portrait_day *day)
{
    return sheet->analyzer->controls && day->levels_good > 0 && day->levels_good >= sheet->analyzer->level_count;
}

static struct text description(struct sheet *sheet)
{
    struct arena *arena = sheet->drawing->arena;
    AUTO(output) says = output_memory();
    size_t open = 0, tested = 0, controlled = 0, cleaned = 0, named = 0;
    for (size_t i = 0; i < sheet->portrait->day_count; i++) {
        const struct portrait_day *day = &sheet->analyzer->days[i];
        open += day->is_open;
        tested += day->tests > 0;
        controlled += day->tests > 0 && controls_done(sheet, day);
        cleaned += day->tests > 0 && day->cleanings > 0;
        sheet->lacking += lacks_any(day_lacks(arena, sheet->analyzer, day));
    }
    output_print(says, "%.*s: tests on %zu days, the site was open on %zu.",
                 TEXT_FORMAT(phrase_period(arena, sheet->portrait->from, sheet->portrait->to)), tested, open);
    if (sheet->analyzer->controls)
        output_print(says, " Good controls of each level on %zu of the days with tests.", controlled);
    if (sheet->analyzer->cleaned_daily)
        output_print(says, " Cleaned on %zu of them.", cleaned);
    for (size_t i = 0; i < sheet->portrait->day_count && named < DAYS_NAMED; i++) {
        struct day_lacks lacks = day_lacks(arena, sheet->analyzer, &sheet->analyzer->days[i]);
        if (!lacks_any(lacks))
            continue;
        bool both = lacks.controls.size > 0 && lacks.cleaning.size > 0;
        output_print(says, "%s%.*s %.*s%s%.*s", named == 0 ? " Missing: " : "; ",
                     TEXT_FORMAT(mark_date(arena, sheet->portrait->from + (day_number)i)), TEXT_FORMAT(lacks.controls),
                     both ? " and " : "", TEXT_FORMAT(lacks.cleaning));
        named++;
    }
    if (sheet->lacking > named)
        output_print(says, "; and %zu more days", sheet->lacking - named);
    output_print(says, "%s", named > 0 ? "." : "");
    return output_words(arena, says);
}

/* ---- a calendar ---- */

/* Weekdays on which the site is closed and nothing was run take less room. */
static void set_columns(struct sheet *sheet)
{
    bool narrow[7];
    size_t narrows = 0;
    for (int weekday = 0; weekday < 7; weekday++) {
        narrow[weekday] = true;
        for (size_t i = 0; i < sheet->portrait->day_count; i++)
            if (day_of_week(sheet->portrait->from + (day_number)i) == weekday && !is_quiet(&sheet->analyzer->days[i]))
                narrow[weekday] = false;
        narrows += narrow[weekday];
    }
    double wide =
        narrows == 7 ? MARKS_WIDTH / 7.0 : (MARKS_WIDTH - 1.0 - NARROW * (double)narrows) / (double)(7 - narrows);
    sheet->left[0] = .5;
    for (int weekday = 0; weekday < 7; weekday++)
        sheet->left[weekday + 1] = sheet->left[weekday] + (narrow[weekday] && narrows < 7 ? NARROW : wide);
}

static void draw_weekdays(const struct sheet *sheet)
{
    static const char *const names[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
    for (int weekday = 0; weekday < 7; weekday++)
        drawing_text(sheet->drawing, (struct point){sheet->left[weekday] + 3, HEAD - 5}, AXIS_LETTERS, ANCHOR_START,
                     INK_QUIET, text_of(names[weekday]));
}

static void draw_done(const struct sheet *sheet, const struct portrait_day *day, double x, double y)
{
    if (controls_done(sheet, day)) {
        drawing_disc(sheet->drawing, (struct point){x, y}, 2.2, (struct pen){.fill = INK_INK});
        x += 8;
    }
    if (sheet->analyzer->cleaned_daily && day->cleanings > 0)
        drawing_box(sheet->drawing, (struct point){x - 2, y - 2}, 4, 4, (struct pen){.stroke = INK_INK, .width = .8});
}

/* A line of a cell: words that say what is missing, in smaller letters where the week has seven wide days. */
static double draw_words(const struct sheet *sheet, struct text words, double x, double y, double width)
{
    if (words.size == 0)
        return y;
    double size = drawing_text_width(words, AXIS_LETTERS) > width ? SMALL_LETTERS : AXIS_LETTERS;
    drawing_strong(sheet->drawing, (struct point){x, y}, size, ANCHOR_START, INK_INK,
                   fit_text(sheet->drawing->arena, words, size, width));
    return y + 10;
}

static void draw_count(const struct sheet *sheet, const struct portrait_day *day, double right, double foot,
                       double room)
{
    struct arena *arena = sheet->drawing->arena;
    if (day->tests == 0)
        return;
    struct text says = phrase_count(arena, day->tests, "test", "tests");
    if (drawing_text_width(says, AXIS_LETTERS) > room)
        says = phrase_number(arena, day->tests);
    drawing_text(sheet->drawing, (struct point){right, foot}, AXIS_LETTERS, ANCHOR_END, INK_INK, says);
}

static void draw_cell(struct sheet *sheet, size_t i, double left, double top, double width)
{
    const struct portrait_day *day = &sheet->analyzer->days[i];
    struct arena *arena = sheet->drawing->arena;
    struct civil civil = day_civil(sheet->portrait->from + (day_number)i);
    struct day_lacks lacks = day_lacks(arena, sheet->analyzer, day);
    struct point corner = {left, top};
    drawing_box(sheet->drawing, corner, width, CELL,
                (struct pen){.stroke = INK_LINE, .fill = day->is_open ? INK_NONE : INK_TINT, .width = .5});
    bool named = sheet->has_months && (i == 0 || civil.day == 1) && width > 2 * NARROW - 8;
    struct text number =
        named ? text_print(arena, "%d %s", civil.day, mark_month(civil.month)) : text_print(arena, "%d", civil.day);
    drawing_text(sheet->drawing, (struct point){left + 3, top + 10}, AXIS_LETTERS, ANCHOR_START, INK_QUIET, number);
    draw_count(sheet, day, left + width - 3, top + 10, width - 9 - drawing_text_width(number, AXIS_LETTERS));
    if (!day->is_open && day->tests == 0 && width > NARROW)
        drawing_text(sheet->drawing, (struct point){left + 3, top + 21}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                     TEXT("closed"));
    else if (!in_service(sheet, i))
        drawing_text(sheet->drawing, (struct point){left + 3, top + 21}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                     fit_text(arena, TEXT("not in use"), AXIS_LETTERS, width - 4));
    if (!lacks_any(lacks)) {
        draw_done(sheet, day, left + 6, top + 28);
        if (day->controls_failed > 0)
            drawing_text(sheet->drawing, (struct point){left + width - 3, top + 31}, AXIS_LETTERS, ANCHOR_END, INK_INK,
                         text_print(arena, "%u failed", day->controls_failed));
        return;
    }
    double y = draw_words(sheet, lacks.controls, left + 4, top + 21, width - 5);
    draw_words(sheet, lacks.cleaning, left + 4, y, width - 5);
    if (lacks.controls.size == 0 || lacks.cleaning.size == 0)
        draw_done(sheet, day, left + 7, top + 30);
}

static void draw_frame(const struct sheet *sheet, double left, double top, double width)
{
    drawing_box(sheet->drawing, (struct point){left + .8, top + .8}, width - 1.6, CELL - 1.6, mark_heavy);
}

static double cell_place(const struct sheet *sheet, size_t i, double *left, double *width)
{
    day_number day = sheet->portrait->from + (day_number)i;
    int weekday = day_of_week(day), first = day_of_week(sheet->portrait->from);
    *left = sheet->left[weekday];
    *width = sheet->left[weekday + 1] - *left;
    size_t week = (i + (size_t)first) / 7;
    return HEAD + CELL * (double)week;
}

static double draw_calendar(struct sheet *sheet)
{
    double left, width, bottom = HEAD;
    set_columns(sheet);
    draw_weekdays(sheet);
    for (size_t i = 0; i < sheet->portrait->day_count; i++) {
        double top = cell_place(sheet, i, &left, &width);
        draw_cell(sheet, i, left, top, width);
        bottom = top + CELL;
    }
    for (size_t i = 0; i < sheet->portrait->day_count; i++) { /* above their neighbours' hairlines */
        double top = cell_place(sheet, i, &left, &width);
        if (lacks_any(day_lacks(sheet->drawing->arena, sheet->analyzer, &sheet->analyzer->days[i])))
            draw_frame(sheet, left, top, width);
    }
    return bottom;
}

/* ---- strips ---- */

/* Tests and all that is asked: a dot. Controls lacking: a hollow diamond. Cleaning lacking: a cross below. */
static void draw_strip_day(const struct sheet *sheet, size_t i, double left, double top, double width)
{
    const struct portrait_day *day = &sheet->analyzer->days[i];
    struct day_lacks lacks = day_lacks(sheet->drawing->arena, sheet->analyzer, day);
    struct point middle = {left + width / 2, top + STRIP / 2.0 - 2};
    if (!day->is_open)
        drawing_box(sheet->drawing, (struct point){left, top + 1}, width, STRIP - 4, tint);
    if (day->tests == 0)
        return;
    bool both = lacks.controls.size > 0 && lacks.cleaning.size > 0;
    if (lacks.controls.size > 0)
        mark_diamond(sheet->drawing, (struct point){middle.x, middle.y - (both ? 2.5 : 0)}, both ? 3.2 : 3.8,
                     (struct pen){.stroke = INK_INK, .fill = INK_PAPER, .width = 1.3});
    if (lacks.cleaning.size > 0)
        mark_cross(sheet->drawing, (struct point){middle.x, middle.y + (both ? 4 : 0)}, both ? 1.8 : 2.8,
                   (struct pen){.stroke = INK_INK, .width = 1.4});
    if (!lacks_any(lacks))
        drawing_disc(sheet->drawing, middle, 1.5, (struct pen){.fill = INK_INK});
}

static void draw_strip_head(const struct sheet *sheet, double width)
{
    for (int day = 1; day <= 31; day += day == 1 ? 4 : 5)
        drawing_text(sheet->drawing, (struct point){STRIP_LEFT + (day - .5) * width, HEAD - 5}, AXIS_LETTERS,
                     ANCHOR_MIDDLE, INK_QUIET, text_print(sheet->drawing->arena, "%d", day));
}

static double draw_strips(struct sheet *sheet)
{
    double width = (MARKS_WIDTH - STRIP_LEFT) / 31.0, top = HEAD - STRIP;
    size_t strips = 0;
    draw_strip_head(sheet, width);
    for (size_t i = 0; i < sheet->portrait->day_count; i++) {
        struct civil civil = day_civil(sheet->portrait->from + (day_number)i);
        if (i == 0 || civil.day == 1) {
            if (strips++ == STRIPS_MOST) {
                drawing_text(sheet->drawing, (struct point){0, top + STRIP + 10}, AXIS_LETTERS, ANCHOR_START, INK_INK,
                             TEXT("Later months are left out here; the findings name their days."));
                return top + STRIP + 14;
            }
            top += STRIP;
            drawing_line(sheet->drawing, (struct point){0, top + STRIP - 1.5},
                         (struct point){MARKS_WIDTH, top + STRIP - 1.5}, mark_hairline);
            drawing_text(sheet->drawing, (struct point){0, top + 10}, AXIS_LETTERS, ANCHOR_START, INK_INK,
                         text_print(sheet->drawing->arena, "%s %d", mark_month(civil.month), civil.year));
        }
        draw_strip_day(sheet, i, STRIP_LEFT + (civil.day - 1) * width, top, width);
    }
    return top + STRIP;
}

/* ---- the key ---- */

static void draw_calendar_key(const struct sheet *sheet, double foot)
{
    struct key key = {sheet->drawing, 0, foot};
    if (sheet->analyzer->controls) {
        drawing_disc(sheet->drawing, key_mark(&key), 2.2, (struct pen){.fill = INK_INK});
        key_says(&key, "good controls, each level");
    }
    if (sheet->analyzer->cleaned_daily) {
        struct point at = key_mark(&key);
        drawing_box(sheet->drawing, (struct point){at.x - 2, at.y - 2}, 4, 4,
                    (struct pen){.stroke = INK_INK, .width = .8});
        key_says(&key, "cleaned");
    }
    if (sheet->lacking == 0)
        return;
    struct point at = key_mark(&key);
    drawing_box(sheet->drawing, (struct point){at.x - 4, at.y - 3.2}, 8, 6.4, mark_heavy);
    key.x += 2;
    key_says(&key, "something asked is missing");
}

static void draw_strip_key(const struct sheet *sheet, double foot)
{
    struct key key = {sheet->drawing, 0, foot};
    drawing_disc(sheet->drawing, key_mark(&key), 1.5, (struct pen){.fill = INK_INK});
    key_says(&key, "tests, nothing missing");
    mark_diamond(sheet->drawing, key_mark(&key), 3.8, (struct pen){.stroke = INK_INK, .fill = INK_PAPER, .width = 1.3});
    key_says(&key, "controls missing or failed");
    mark_cross(sheet->drawing, key_mark(&key), 2.8, (struct pen){.stroke = INK_INK, .width = 1.4});
    key_says(&key, "not cleaned");
    key = (struct key){sheet->drawing, 0, foot + 12};
    struct point at = key_mark(&key);
    drawing_box(sheet->drawing, (struct point){at.x - 3, at.y - 3.5}, 7, 7, tint);
    key_says(&key, "closed");
}

struct drawing *calendar_picture(struct arena *arena, const struct portrait *portrait,
                                 const struct portrait_analyzer *analyzer)
{
    struct text title = text_print(arena, "Analyzer %.*s day by day, %.*s", TEXT_FORMAT(analyzer->analyzer),
                                   TEXT_FORMAT(phrase_period(arena, portrait->from, portrait->to)));
    struct sheet sheet = {.drawing = drawing_new(arena, MARKS_WIDTH, 0, title, TEXT("")),
                          .portrait = portrait,
                          .analyzer = analyzer,
                          .has_months = day_civil(portrait->from).month != day_civil(portrait->to).month};
    sheet.drawing->description = description(&sheet);
    bool calendar = portrait->day_count <= CALENDAR_DAYS_MOST;
    double bottom = calendar ? draw_calendar(&sheet) : draw_strips(&sheet);
    if (calendar)
        draw_calendar_key(&sheet, bottom + 13);
    else
        draw_strip_key(&sheet, bottom + 13);
    sheet.drawing->height = bottom + (calendar ? 18 : 30);
    return sheet.drawing;
}
