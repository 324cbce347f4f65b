/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/control_text.h"

#include <math.h>
#include <string.h>

#include "base/utf8.h"
#include "reports/pictures/control_words.h"
#include "reports/wrapped.h"

enum { COLUMNS = 62, ROWS = 17, ROWS_OF_WORDS = 3, NAME_ROWS = 2, LEFT = 9 };

/* What a place of the plot shows; where several things meet, the last of this list. */
enum cell_kind {
    SHOWS_NOTHING,
    SHOWS_LIMIT, /* two and three standard deviations, low and high */
    SHOWS_MEAN,
    SHOWS_LOT, /* a new control lot */
    SHOWS_GOOD,
    SHOWS_UNJUDGED,
    SHOWS_COVERED,
    SHOWS_FAILED,
    SHOWS_FAILED_COVERED,
    SHOWS_COUNT
};

struct text_chart {
    const struct control_plan *plan;
    struct arena *arena;
    struct output *output;
    bool utf8;
    size_t rows;
    struct time_axis time;
    struct scale values;
    enum cell_kind cells[ROWS][COLUMNS];
    struct text left[ROWS], right[ROWS]; /* what stands beside a row */
};

static const char *letter(const struct text_chart *chart, enum cell_kind kind)
{
    static const char *const letters[SHOWS_COUNT][2] = {{" ", " "}, {"┄", "."}, {"─", "-"}, {"│", "|"}, {"●", "o"},
                                                        {"○", "?"}, {"◉", "@"}, {"◇", "X"}, {"◈", "#"}};
    return letters[kind][chart->utf8 ? 0 : 1];
}

static size_t at_most(double place, size_t count) { return place >= (double)count ? count - 1 : (size_t)place; }

static size_t column_of(const struct text_chart *chart, moment at)
{
    return at_most(time_axis_at(&chart->time, at), COLUMNS);
}

static size_t row_of(const struct text_chart *chart, double value)
{
    return at_most(scale_at(&chart->values, value) + .5, chart->rows);
}

static void show(struct text_chart *chart, size_t row, size_t column, enum cell_kind kind)
{
    if (chart->cells[row][column] < kind)
        chart->cells[row][column] = kind;
}

static size_t span_start(const struct text_chart *chart, const struct plan_span *span)
{
    return span->first == 0 ? 0 : column_of(chart, chart->plan->points[span->first].control->at);
}

static size_t span_end(const struct text_chart *chart, const struct plan_span *span)
{
    return span->last + 1 == chart->plan->count ? COLUMNS
                                                : column_of(chart, chart->plan->points[span->last + 1].control->at);
}

/* ---- the plot ---- */

static void show_line(struct text_chart *chart, const struct plan_span *span, double value, enum cell_kind kind,
                      const char *name)
{
    if (isnan(value))
        return;
    size_t row = row_of(chart, value);
    for (size_t column = span_start(chart, span); column < span_end(chart, span); column++)
        show(chart, row, column, kind);
    if (span->last + 1 == chart->plan->count && chart->right[row].size == 0)
        chart->right[row] = text_of(name);
}

static void show_limits(struct text_chart *chart)
{
    const struct control_plan *plan = chart->plan;
    for (size_t i = 0; i < plan->control_lot_count; i++) {
        const struct plan_span *span = &plan->control_lots[i];
        show_line(chart, span, plan_mean(plan, span->limits, 0), SHOWS_MEAN, "mean");
        show_line(chart, span, plan_mean(plan, span->limits, 3), SHOWS_LIMIT, "+3 SD");
        show_line(chart, span, plan_mean(plan, span->limits, -3), SHOWS_LIMIT, "-3 SD");
        show_line(chart, span, plan_mean(plan, span->limits, 2), SHOWS_LIMIT, "+2 SD");
        show_line(chart, span, plan_mean(plan, span->limits, -2), SHOWS_LIMIT, "-2 SD");
        show_line(chart, span, plan_limit(plan, span->limits, true), SHOWS_LIMIT, "high");
        show_line(chart, span, plan_limit(plan, span->limits, false), SHOWS_LIMIT, "low");
        for (size_t row = 0; i > 0 && row < chart->rows; row++)
            show(chart, row, span_start(chart, span), SHOWS_LOT);
    }
}

static void show_value_axis(struct text_chart *chart)
{
    const struct control_plan *plan = chart->plan;
    double step, first;
    size_t count = round_ticks(plan->low, plan->high, PLAN_TICKS, &step, &first);
    for (size_t i = 0; i < count; i++) {
        double value = first + (double)i * step;
        chart->left[row_of(chart, value)] = round_print(chart->arena, value, step, "-");
    }
}

static void show_points(struct text_chart *chart)
{
    static const enum cell_kind kinds[][2] = {
        {SHOWS_UNJUDGED, SHOWS_COVERED}, {SHOWS_GOOD, SHOWS_COVERED}, {SHOWS_FAILED, SHOWS_FAILED_COVERED}};
    static const size_t lanes[] = {1, 0, 2};
    for (size_t i = 0; i < chart->plan->count; i++) {
        const struct plan_point *point = &chart->plan->points[i];
        enum control_state state = point->control->state;
        if (chart->plan->has_values && isnan(point->value))
            continue;
        size_t row = chart->plan->has_values ? row_of(chart, point->value) : lanes[state];
        show(chart, row, column_of(chart, point->control->at), kinds[state][point->is_covered]);
    }
}

static void print_row(const struct text_chart *chart, size_t row)
{
    size_t end = chart->right[row].size > 0 ? COLUMNS : 0;
    for (size_t column = end; column < COLUMNS; column++)
        if (chart->cells[row][column] != SHOWS_NOTHING)
            end = column + 1;
    if (end > 0 || chart->left[row].size > 0)
        output_print(chart->output, "%*.*s", LEFT - 1, TEXT_FORMAT(chart->left[row]));
    output_print(chart->output, end > 0 ? " " : "");
    for (size_t column = 0; column < end; column++)
        output_text(chart->output, text_of(letter(chart, chart->cells[row][column])));
    if (chart->right[row].size > 0)
        output_print(chart->output, " %.*s", TEXT_FORMAT(chart->right[row]));
    output_print(chart->output, "\n");
}

static void print_plot(const struct text_chart *chart)
{
    for (size_t row = 0; row < chart->rows; row++)
        print_row(chart, row);
}

/* ---- rows of words above and below ---- */

/* One row of names, each at its column; one that does not fit behind the last is left out. */
struct words {
    struct text_chart *chart;
    struct output *line;
    size_t end; /* columns taken */
};

static bool put_word(struct words *words, size_t column, struct text word)
{
    size_t letters = utf8_count(word);
    if (column < words->end || column + letters > COLUMNS + 8)
        return false;
    output_print(words->line, "%*s", (int)(column - words->end), "");
    output_text(words->line, utf8_shown(words->chart->arena, word));
    words->end = column + letters;
    return true;
}

static void end_words(struct words *words, struct text before)
{
    if (words->end > 0)
        output_print(words->chart->output, "%*.*s %.*s\n", LEFT - 1, TEXT_FORMAT(before),
                     TEXT_FORMAT(output_taken(words->line)));
    output_free(words->line);
}

static void print_pattern_names(struct text_chart *chart)
{
    struct words rows[NAME_ROWS];
    for (size_t row = 0; row < NAME_ROWS; row++)
        rows[row] = (struct words){chart, output_memory(), 0};
    for (size_t i = 0; i < chart->plan->count; i++) {
        const struct plan_point *point = &chart->plan->points[i];
        struct text says = text_print(chart->arena, "%.*s", TEXT_FORMAT(point->says));
        bool put = says.size == 0;
        size_t column = column_of(chart, point->control->at);
        for (size_t row = NAME_ROWS; !put && row-- > 0;)
            put = put_word(&rows[row], rows[row].end == column && column > 0 ? column + 1 : column, says);
    }
    for (size_t row = 0; row < NAME_ROWS; row++)
        end_words(&rows[row], row + 1 == NAME_ROWS ? TEXT("pattern") : TEXT(""));
}

static void print_time_axis(struct text_chart *chart)
{
    struct time_tick ticks[TIME_TICKS];
    size_t count = time_axis_ticks(&chart->time, ticks), tick = 0;
    output_print(chart->output, "%*s", LEFT, "");
    for (size_t column = 0; column < COLUMNS; column++) {
        bool ticked = tick < count && at_most(ticks[tick].at, COLUMNS) == column;
        tick += ticked ? 1 : 0;
        output_text(chart->output, chart->utf8 ? (ticked ? TEXT("┬") : TEXT("─")) : (ticked ? TEXT("+") : TEXT("-")));
    }
    output_print(chart->output, "\n");
    struct words words = {chart, output_memory(), 0};
    for (size_t i = 0; i < count; i++)
        put_word(&words, at_most(ticks[i].at, COLUMNS), text_of(ticks[i].label));
    end_words(&words, TEXT(""));
}

static void print_lots(struct text_chart *chart, const struct plan_span *spans, size_t count, struct text what)
{
    struct words words = {chart, output_memory(), 0};
    for (size_t i = 0; i < count; i++) {
        struct text lot = spans[i].lot.size > 0 ? spans[i].lot : TEXT("no lot");
        struct text name = text_print(chart->arena, "%s%.*s", i > 0 ? (chart->utf8 ? "│" : "|") : "", TEXT_FORMAT(lot));
        put_word(&words, span_start(chart, &spans[i]), name);
    }
    end_words(&words, what);
}

static void print_key(const struct text_chart *chart)
{
    static const enum control_state states[] = {CONTROL_GOOD, CONTROL_FAILED, CONTROL_UNJUDGED};
    static const enum cell_kind kinds[] = {SHOWS_GOOD, SHOWS_FAILED, SHOWS_UNJUDGED};
    output_print(chart->output, "\n%*s", LEFT - 3, "");
    for (size_t i = 0; i < 3; i++) {
        struct text key = control_key(chart->plan, states[i]);
        if (key.size > 0)
            output_print(chart->output, "   %s %.*s", letter(chart, kinds[i]), TEXT_FORMAT(key));
    }
    struct text covered = control_key_covered(chart->plan);
    if (covered.size > 0)
        output_print(chart->output, "   %s%s %.*s", letter(chart, SHOWS_COVERED), letter(chart, SHOWS_FAILED_COVERED),
                     TEXT_FORMAT(covered));
    output_print(chart->output, "\n\n");
}

static void print_chart(struct text_chart *chart)
{
    const struct control_plan *plan = chart->plan;
    if (plan->has_values) {
        show_limits(chart);
        show_value_axis(chart);
        struct text unit = plan->uses_z ? TEXT("SD") : utf8_shown(chart->arena, plan->series->unit);
        output_print(chart->output, "%*.*s\n", LEFT - 1, TEXT_FORMAT(unit));
    } else {
        chart->right[0] = TEXT("good");
        chart->right[2] = TEXT("failed");
    }
    show_points(chart);
    print_pattern_names(chart);
    print_plot(chart);
    print_time_axis(chart);
    print_lots(chart, plan->control_lots, plan->control_lot_count, TEXT("control"));
    print_lots(chart, plan->lots, plan->lot_count, TEXT("reagent"));
    print_key(chart);
}

void control_text(const struct control_plan *plan, bool utf8, struct output *output)
{
    AUTO(arena) arena = arena_new();
    struct text_chart *chart = arena_take(arena, sizeof *chart);
    *chart = (struct text_chart){.plan = plan, .arena = arena, .output = output, .utf8 = utf8};
    chart->rows = plan->has_values ? ROWS : ROWS_OF_WORDS;
    chart->time = (struct time_axis){plan->portrait->from, plan->portrait->to, 0, COLUMNS};
    chart->values = (struct scale){plan->low, plan->high, (double)chart->rows - 1, 0};
    wrapped_print(output, 80, TEXT(""), 0, plan->title);
    output_print(output, "\n");
    if (plan->count > 0)
        print_chart(chart);
    wrapped_print(output, 80, TEXT(""), 0, plan->description);
}
