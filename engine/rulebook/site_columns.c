/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cells that may be left empty, and without which a rule says nothing of a run: each must be told with its number, for
 * the rule itself only says how many it judged. */
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

static bool is_any(const struct run *run, const struct method_settings *method)
{
    (void)run, (void)method;
    return true;
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

static bool has_recorded_at(const struct run *run, const struct method_settings *method)
{
    (void)method;
    return run->recorded_at != MOMENT_ABSENT;
}

static const struct column_asked {
    const char *column, *rules;
    asks_function *asks, *has;
    bool only_if_none; /* that some rows lack it is not told */
} columns[] = {
    {"sequence", "records.gap and analyzer.clock", has_a_counter, has_sequence, false},
    {"collected_at", "results.specimen-age", is_aged, has_collected_at, false},
    {"recorded_at", "records.late, records.future and records.batch", is_any, has_recorded_at, true},
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
    if (empty > 0 && !(column->only_if_none && empty < asked))
        audit_add_warning(
            audit, text_print(audit->arena,
                              "%.*s: %.*s:%" PRIu32 ": %s is empty: runs that %s cannot judge: %" PRIu64 " of %" PRIu64,
                              TEXT_FORMAT(history->settings->site), TEXT_FORMAT(history_path(history, first->file)),
                              first->line, column->column, column->rules, empty, asked));
}

void audit_warn_of_columns(struct audit *audit, const struct history *history, struct period period)
{
    for (size_t i = 0; i < sizeof columns / sizeof *columns; i++)
        look_at_column(audit, history, period, &columns[i]);
}
