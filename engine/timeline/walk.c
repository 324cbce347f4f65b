/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "timeline/standing.h"

void set_yes(struct walk *walk, enum fact_id id, bool yes)
{
    walk->facts[id] = (struct fact){.present = true, .yes = yes};
}

void set_whole(struct walk *walk, enum fact_id id, int64_t whole)
{
    walk->facts[id] = (struct fact){.present = true, .whole = whole};
}

void set_place(struct walk *walk, enum fact_id id, uint32_t run)
{
    walk->facts[id] = (struct fact){.present = run != NO_RUN, .whole = run};
}

void set_number(struct walk *walk, enum fact_id id, double number)
{
    walk->facts[id] = (struct fact){.present = true, .number = number};
}

void set_setting(struct walk *walk, enum fact_id id, struct setting_number setting)
{
    walk->facts[id] = (struct fact){.present = setting.present, .number = setting.number};
}

void set_day(struct walk *walk, enum fact_id id, day_number day)
{
    walk->facts[id] = (struct fact){.present = day != DAY_ABSENT, .whole = day};
}

void set_time(struct walk *walk, enum fact_id id, moment at)
{
    walk->facts[id] = (struct fact){.present = at != MOMENT_ABSENT, .whole = at};
}

void set_name(struct walk *walk, enum fact_id id, uint32_t name)
{
    walk->facts[id] = (struct fact){.present = name != 0, .whole = name};
}

void set_text(struct walk *walk, enum fact_id id, struct text text)
{
    walk->facts[id] = (struct fact){.present = text.data != NULL, .text = text};
}

void set_source(struct walk *walk, enum fact_source source, const struct record *record)
{
    walk->sources[source] = record ? (struct place){record->file, record->line} : (struct place){0, 0};
}

void set_source_run(struct walk *walk, enum fact_source source, uint32_t run)
{
    if (run == NO_RUN)
        walk->sources[source] = (struct place){0, 0};
    else
        walk->sources[source] = (struct place){walk->history->runs[run].file, walk->history->runs[run].line};
}

void unset_scope(struct walk *walk, enum fact_scope scope)
{
    for (int i = 0; i < FACT_COUNT; i++)
        if (fact_rows[i].scope == scope)
            walk->facts[i].present = false;
}

void emit(struct walk *walk, enum fact_scope scope)
{
    walk->event.scope = scope;
    walk->function(walk->context, &walk->event);
}

static void begin_event(struct walk *walk)
{
    memset(walk->facts, 0, sizeof walk->facts);
    memset(walk->sources, 0, sizeof walk->sources);
    walk->event = (struct event){
        .at = MOMENT_ABSENT,
        .run = NO_RUN,
        .method_index = NO_METHOD,
        .facts = walk->facts,
        .sources = walk->sources,
        .setting_files = {walk->history->settings->certificate_where.file, {0}},
    };
    walk->sources[SOURCE_SITE].line = walk->history->settings->certificate_where.line;
}

static void begin_run(struct walk *walk, const struct run *run, uint32_t place, day_number day)
{
    begin_event(walk);
    walk->event.at = run->at;
    walk->event.day = day;
    walk->event.run = place;
    walk->event.method_index = run->method_index;
    walk->event.place = (struct place){run->file, run->line};
    const struct method_settings *method = run_method(walk->history, run);
    if (method) {
        walk->event.setting_files[1] = method->where.file;
        walk->sources[SOURCE_METHOD].line = method->where.line;
    }
    set_time(walk, F_at, run->at);
    set_day(walk, F_day, day);
    set_place(walk, F_run, place);
}

/* A run against the lots it used: its reagent lot, and a control's control lot. */
static void walk_lots(struct walk *walk, const struct run *run)
{
    if (!run->method)
        return;
    const struct fact *facts = walk->facts;
    set_text(walk, F_use, TEXT("reagent"));
    set_name(walk, F_used_lot, run->lot);
    bool coded = facts[F_coded].present && facts[F_coded].yes;
    set_yes(walk, F_used_lot_known, facts[F_lot_known].yes && (!coded || facts[F_lot_code].present));
    emit(walk, SCOPE_LOT);
    if (run->is_control) {
        bool limited =
            facts[F_control_limited].yes || run->method_index == NO_METHOD; /* nothing to work limits out by */
        set_text(walk, F_use, TEXT("control"));
        set_name(walk, F_used_lot, run->control_lot);
        set_yes(walk, F_used_lot_known, facts[F_control_expires_on].present && limited);
        set_source(walk, SOURCE_LOTS, NULL);
        emit(walk, SCOPE_LOT);
    }
    unset_scope(walk, SCOPE_LOT);
}

static void note_day(struct walk *walk, struct instrument *instrument, const struct run *run, uint32_t place,
                     day_number day)
{
    const struct method_settings *method = run_method(walk->history, run);
    if (instrument->last_run == NO_RUN || instrument->day != day)
        instrument->daily_asked = false;
    instrument->last_run = place;
    instrument->day = day;
    if (instrument->daily_asked || !method || !method->cleaning_daily)
        return;
    instrument->daily_asked = true;
    instrument->daily_by = method->cleaning_by;
    instrument->daily_method = run->method_index;
}

/* The analyzer's last testing day is over when its next run lies in another. */
static void close_day(struct walk *walk, const struct instrument *instrument)
{
    if (instrument->last_run == NO_RUN || !instrument->daily_asked)
        return;
    begin_event(walk);
    walk_day(walk, instrument);
}

static void tell_run(struct walk *walk, const struct instrument *instrument, const struct bench *bench, uint32_t place,
                     day_number day)
{
    const struct run *run = &walk->history->runs[place];
    begin_run(walk, run, place, day);
    set_place(walk, F_previous_run, instrument->last_run);
    facts_of_run(walk, run, place);
    facts_of_bench(walk, bench, run, place);
    emit(walk, run->is_control ? SCOPE_CONTROL : SCOPE_TEST);
    walk_lots(walk, run);
    walk_tasks(walk, run);
    walk_clauses(walk, bench, run);
    walk_entry_of_run(walk, run);
}

static void walk_run(struct walk *walk, uint32_t place, day_number first_day)
{
    const struct run *run = &walk->history->runs[place];
    struct instrument *instrument = instrument_of(walk, run->analyzer);
    struct bench *bench = bench_of(walk, run);
    day_number day = history_day(walk->history, run->at);
    walk->telling = walk->telling || day >= first_day;
    if (walk->telling && instrument->day != day)
        close_day(walk, instrument);
    if (walk->telling)
        tell_run(walk, instrument, bench, place, day);
    bench_take(walk, bench, run, place);
    note_day(walk, instrument, run, place, day);
}

void walk_site(const struct history *history, day_number first_day, walk_function *function, void *context)
{
    struct walk walk = {.history = history, .function = function, .context = context};
    walk.arena = arena_new();
    walk.benches = map_new();
    walk.instruments = map_new();
    walk.good_on_lot = map_new();
    walk.last_good = map_new();
    walk.good_before = map_new();
    walk.others_failed = map_new();
    walk.daily = names_find(history->names, TEXT("daily"));
    for (uint32_t place = 0; place < history->run_count; place++)
        walk_run(&walk, place, first_day);
    for (size_t i = 0; i < walk.instrument_count; i++)
        close_day(&walk, walk.in_order[i]);
    begin_event(&walk);
    walk_other_entries(&walk);
    begin_event(&walk);
    walk_pairs(&walk);
    memory_free(walk.in_order);
    map_free(walk.others_failed);
    map_free(walk.good_before);
    map_free(walk.last_good);
    map_free(walk.good_on_lot);
    map_free(walk.instruments);
    map_free(walk.benches);
    arena_free(walk.arena);
}
