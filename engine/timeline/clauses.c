/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A test against each clause of its method's controls. Of the levels, the one that has waited longest decides. */
#include "timeline/standing.h"

/* The level whose latest good control is oldest; NULL if a level had none yet. */
static const struct level_standing *longest_waiting(const struct bench *bench)
{
    const struct level_standing *oldest = NULL;
    for (size_t i = 0; i < bench->level_count; i++) {
        const struct level_standing *level = &bench->levels[i];
        if (level->last_good == NO_RUN)
            return NULL;
        if (!oldest || level->last_good < oldest->last_good)
            oldest = level;
    }
    return oldest;
}

static void facts_of_waiting(struct walk *walk, const struct bench *bench)
{
    const struct level_standing *level = longest_waiting(bench);
    if (!level)
        return;
    moment at = walk->history->runs[level->last_good].at;
    set_time(walk, F_good_control_at, at);
    set_day(walk, F_good_control_day, history_day(walk->history, at));
    set_whole(walk, F_tests_since_good, (int64_t)(bench->tests - level->tests_before_good));
    set_source_run(walk, SOURCE_CONTROLS, level->last_good);
}

/* The latest maintenance of the kinds that the clause names, at or before the run. */
static const struct shelf_entry *latest_event(const struct walk *walk, const struct run *run, unsigned events)
{
    const struct shelf_entry *latest = NULL;
    for (uint32_t event = 0; events >> event; event++) {
        if (!(events >> event & 1))
            continue;
        const struct shelf_entry *entry =
            shelf_latest(shelf_find(&walk->history->maintenance, map_key(run->analyzer, event, 0, 0, 0)), run->at);
        if (entry && (!latest || moment_seconds(entry->at) > moment_seconds(latest->at)))
            latest = entry;
    }
    return latest;
}

static void facts_of_maintenance(struct walk *walk, const struct bench *bench, const struct run *run, unsigned events)
{
    walk->facts[F_good_since_event].present = false;
    const struct shelf_entry *entry = latest_event(walk, run, events);
    set_source(walk, SOURCE_MAINTENANCE, entry ? entry->record : NULL);
    if (!entry)
        return;
    bool good = true;
    for (size_t i = 0; i < bench->level_count; i++) {
        uint32_t last = bench->levels[i].last_good;
        good = good && last != NO_RUN && moment_compare(entry->at, walk->history->runs[last].at) <= 0;
    }
    set_yes(walk, F_good_since_event, good);
}

static struct text kind_words(enum clause_kind kind)
{
    static const char *const words[] = {"each day", "each lot", "each operator", "every days", "every tests", "after"};
    return text_of(words[kind]);
}

void walk_clauses(struct walk *walk, const struct bench *bench, const struct run *run)
{
    const struct method_settings *method = run_method(walk->history, run);
    if (run->is_control || !method || !method->has_controls)
        return;
    facts_of_waiting(walk, bench);
    for (size_t i = 0; i < method->clause_count; i++) {
        const struct control_clause *clause = &method->clauses[i];
        set_text(walk, F_clause, clause->name);
        set_text(walk, F_clause_kind, kind_words(clause->kind));
        set_text(walk, F_clause_by, text_of(duty_name(clause->by)));
        walk->facts[F_clause_count].present = false;
        if (clause->kind == CLAUSE_EVERY_DAYS || clause->kind == CLAUSE_EVERY_TESTS)
            set_whole(walk, F_clause_count, clause->count);
        facts_of_maintenance(walk, bench, run, clause->kind == CLAUSE_AFTER ? clause->after : 0);
        walk->sources[SOURCE_METHOD].line = clause->where.line;
        emit(walk, SCOPE_CLAUSE);
    }
    walk->sources[SOURCE_METHOD].line = method->where.line;
}
