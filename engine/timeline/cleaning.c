/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cleaning: a run against each periodic task of its method; an analyzer's testing day against its daily entries. */
#include "timeline/standing.h"

void walk_tasks(struct walk *walk, const struct run *run)
{
    const struct history *history = walk->history;
    const struct method_settings *method = run_method(history, run);
    if (!method)
        return;
    for (size_t i = 0; i < method->task_count; i++) {
        uint32_t task = history->method_names[run->method_index].tasks[i];
        struct shelf_range range = shelf_find(&history->cleaning, map_key(run->analyzer, task, 0, 0, 0));
        const struct shelf_entry *latest = shelf_latest(range, run->at);
        set_text(walk, F_task, method->tasks[i].name);
        set_whole(walk, F_task_days, method->tasks[i].days);
        if (latest && task)
            set_day(walk, F_task_from, history_day(history, latest->at));
        else
            walk->facts[F_task_from] = walk->facts[F_in_service_on];
        set_source(walk, SOURCE_CLEANING, latest && task ? latest->record : NULL);
        emit(walk, SCOPE_TASK);
    }
    unset_scope(walk, SCOPE_TASK);
    set_source(walk, SOURCE_CLEANING, NULL);
}

void walk_day(struct walk *walk, const struct instrument *instrument)
{
    const struct history *history = walk->history;
    const struct run *last = &history->runs[instrument->last_run];
    struct shelf_range range = shelf_find(&history->cleaning, map_key(instrument->analyzer, walk->daily, 0, 0, 0));
    bool any = false, after = false;
    for (const struct shelf_entry *entry = range.first; walk->daily && entry < range.end; entry++) {
        if (history_day(history, entry->at) != instrument->day)
            continue;
        any = true;
        set_source(walk, SOURCE_CLEANING, entry->record);
        after = after || moment_compare(entry->at, last->at) >= 0;
    }
    const struct method_settings *method = &history->settings->methods[instrument->daily_method];
    walk->event.day = instrument->day;
    walk->event.method_index = instrument->daily_method;
    walk->event.place = (struct place){last->file, last->line};
    walk->event.setting_files[1] = method->where.file;
    walk->sources[SOURCE_METHOD].line = method->where.line;
    set_source_run(walk, SOURCE_RUN, instrument->last_run);
    set_day(walk, F_day, instrument->day);
    set_name(walk, F_analyzer, instrument->analyzer);
    set_place(walk, F_last_run, instrument->last_run);
    set_yes(walk, F_cleaned_that_day, any);
    set_yes(walk, F_cleaned_after, after);
    set_text(walk, F_day_cleaning_by, text_of(duty_name(instrument->daily_by)));
    emit(walk, SCOPE_DAY);
}
