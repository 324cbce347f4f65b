/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/marks.h"

#include "base/utf8.h"

const struct pen mark_hairline = {.stroke = INK_LINE, .width = .5}, mark_quiet = {.stroke = INK_QUIET, .width = .5},
                 mark_plain = {.stroke = INK_INK, .width = .8}, mark_heavy = {.stroke = INK_INK, .width = 1.6};

void mark_diamond(struct drawing *drawing, struct point at, double half, struct pen pen)
{
    const struct point points[] = {{at.x, at.y - half}, {at.x + half, at.y}, {at.x, at.y + half}, {at.x - half, at.y}};
    drawing_area(drawing, points, 4, pen);
}

void mark_triangle(struct drawing *drawing, struct point at, double half, struct pen pen)
{
    const struct point points[] = {
        {at.x, at.y - half}, {at.x + half, at.y + half * .8}, {at.x - half, at.y + half * .8}};
    drawing_area(drawing, points, 3, pen);
}

void mark_cross(struct drawing *drawing, struct point at, double half, struct pen pen)
{
    drawing_line(drawing, (struct point){at.x - half, at.y - half}, (struct point){at.x + half, at.y + half}, pen);
    drawing_line(drawing, (struct point){at.x - half, at.y + half}, (struct point){at.x + half, at.y - half}, pen);
}

struct text fit_text(struct arena *arena, struct text text, double size, double width)
{
    if (drawing_text_width(text, size) <= width)
        return text;
    double left = width - drawing_text_width(TEXT("…"), size), used = 0;
    size_t count = 0;
    for (size_t at = 0; at < text.size;) {
        uint32_t letter;
        size_t bytes;
        utf8_first((struct text){text.data + at, text.size - at}, &letter, &bytes);
        used += drawing_text_width((struct text){text.data + at, bytes}, size);
        if (used > left)
            break;
        count++;
        at += bytes;
    }
    return text_print(arena, "%.*s…", TEXT_FORMAT(text_trim(utf8_cut(text, count))));
}

double mark_day(const struct time_axis *axis, day_number day)
{
    return time_axis_at(axis, moment_make((int64_t)day * 86400, false));
}

const char *mark_month(int month)
{
    static const char *const names[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                        "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    return names[month - 1];
}

struct text mark_date(struct arena *arena, day_number day)
{
    char date[DAY_TEXT_SIZE];
    day_print(day, date);
    return text_keep(arena, text_of(date));
}

void mark_time(struct drawing *drawing, const struct time_axis *axis, double y)
{
    struct time_tick ticks[TIME_TICKS];
    size_t count = time_axis_ticks(axis, ticks);
    double free_from = axis->at_low;
    drawing_line(drawing, (struct point){axis->at_low, y}, (struct point){axis->at_high, y}, mark_quiet);
    for (size_t i = 0; i < count; i++) {
        struct text label = text_keep(drawing->arena, text_of(ticks[i].label));
        drawing_line(drawing, (struct point){ticks[i].at, y}, (struct point){ticks[i].at, y + 2.5}, mark_quiet);
        if (ticks[i].at < free_from)
            continue;
        drawing_text(drawing, (struct point){ticks[i].at, y + AXIS_LETTERS + 2}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                     label);
        free_from = ticks[i].at + drawing_text_width(label, AXIS_LETTERS) + 3;
    }
}

void mark_as_of(struct drawing *drawing, const struct time_axis *axis, day_number as_of, double top, double bottom)
{
    double x = mark_day(axis, as_of + 1);
    drawing_line(drawing, (struct point){x, top}, (struct point){x, bottom},
                 (struct pen){.stroke = INK_ACCENT, .width = 1});
}

void mark_as_of_label(struct drawing *drawing, const struct time_axis *axis, day_number as_of, double foot)
{
    struct text says = text_print(drawing->arena, "as of %.*s", TEXT_FORMAT(mark_date(drawing->arena, as_of)));
    drawing_text(drawing, (struct point){mark_day(axis, as_of + 1), foot}, AXIS_LETTERS, ANCHOR_MIDDLE, INK_ACCENT,
                 says);
}

struct text output_words(struct arena *arena, struct output *output)
{
    struct text taken = output_taken(output);
    return text_keep(arena, taken);
}

struct point key_mark(const struct key *key) { return (struct point){key->x + 4.5, key->foot - 2.6}; }

void key_says(struct key *key, const char *words)
{
    drawing_text(key->drawing, (struct point){key->x + 11, key->foot}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                 text_of(words));
    key->x += 11 + drawing_text_width(text_of(words), AXIS_LETTERS) + 10;
}
