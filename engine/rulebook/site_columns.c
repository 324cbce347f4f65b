/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cells that may be left empty, or hold a word for a number, and without which a rule says nothing of a run: each must
 * be told with its number, for the rule itself only says how many it judged. */
#include <inttypes.h>

#include "rulebook/judged.h"

/* Is the rule meant for the run, and has the run the cell? */
typedef bool asks_function(const struct run *run, const struct method_settings *method);

static bool has_a_counter(const struct run *run, const struct method_settings *method)
{
    (void)run;
    return method && method->run_seconds.present; /* an analyzer, no reading bench */
}

static bool is_aged(const struct run *run, const struct method_settings *method)
{
    return !run->is_control && method && method->max_specimen_minutes.present;
}

static bool has_sequence(const struct run *run, const struct method_settings *method)
{
    (void)method;
    return run->has_sequence;
}

static bool has_collected_at(const struct run *run, const struct method_settings *method)
{
    (void)method;
    return run->collected_at != MOMENT_ABSENT;
}

static bool can_be_urgent(const struct run *run, const struct method_settings *method)
{
    return !run->is_control && method && (method->follow_up_low.present || method->follow_up_high.present);
}

static bool is_number(const struct run *run, const struct method_settings *method)
{
    (void)method;
    return run->result_kind != RESULT_WORD;
}

/* A bound short of a limit may stand for a result on either side of it, as >300 where 400 cannot wait. */
static bool tells_its_side(const struct run *run, const struct method_settings *method)
{
    const struct setting_number *low = &method->follow_up_low, *high = &method->follow_up_high;
    double n = run->number;
    if (run->result_kind == RESULT_BELOW)
        return !(low->present && n > low->number) && !(high->present && n > high->number);
    if (run->result_kind == RESULT_ABOVE)
        return !(low->present && n < low->number) && !(high->present && n < high->number);
    return true;
}

static const struct column_asked {
    const char *column, *rule;
    asks_function *asks, *has;
} columns[] = {
    {"sequence", "records.gap", has_a_counter, has_sequence},
    {"collected_at", "results.specimen-age", is_aged, has_collected_at},
    {"number as their result", "results.follow-up", can_be_urgent, is_number}, /* a word is on no side of a limit */
    {"result that tells the side of the limit (a bound does not)", "results.follow-up", can_be_urgent, tells_its_side},
};

static void look_at_column(struct audit *audit, const struct history *history, struct period period,
                           const struct column_asked *column)
{
    const struct run *first = NULL;
    uint64_t asked = 0, empty = 0;
    for (size_t i = 0; i < history->run_count; i++) {
        const struct run *run = &history->runs[i];
        const struct method_settings *method = run_method(history, run);
        day_number day = history_day(history, run->at);
        if (day < period.from || day > period.to || !column->asks(run, method))
            continue;
        asked++;
        if (column->has(run, method))
            continue;
        empty++;
        first = first ? first : run;
    }
    if (empty > 0)
        audit_add_warning(
            audit, text_print(audit->arena,
                              "%.*s: %" PRIu64 " of %" PRIu64 " runs have no %s, so %s does not judge them (the first: "
                              "%.*s:%" PRIu32 ")",
                              TEXT_FORMAT(history->settings->site), empty, asked, column->column, column->rule,
                              TEXT_FORMAT(history_path(history, first->file)), first->line));
}

void audit_warn_of_columns(struct audit *audit, const struct growing *growing, const struct history *history,
                           struct period period)
{
    for (size_t i = 0; i < sizeof columns / sizeof *columns; i++)
        if (growing_judged(growing, columns[i].rule))
            look_at_column(audit, history, period, &columns[i]);
}
