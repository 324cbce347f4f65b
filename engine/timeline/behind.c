/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "timeline/behind.h"

#include <string.h>

static const char *const keys[FACT_COUNT] = {
    [F_waived] = "waived",
    [F_initial_asked] = "competency.initial",
    [F_run_seconds] = "run_seconds",
    [F_open_life_days] = "open_life_days",
    [F_coded] = "coding",
    [F_lot_check_asked] = "lot_check.specimens",
    [F_lot_check_by] = "lot_check.by",
    [F_word_allowed] = "words",
    [F_unit_known] = "unit",
    [F_other_unit] = "unit",
    [F_reportable_low] = "reportable.low",
    [F_reportable_high] = "reportable.high",
    [F_follow_up_low] = "follow_up.low",
    [F_follow_up_high] = "follow_up.high",
    [F_follow_up_minutes] = "follow_up.within_minutes",
    [F_max_specimen_minutes] = "max_specimen_minutes",
    [F_task] = "cleaning.periodic",
    [F_task_days] = "cleaning.periodic",
    [F_cleaning_by] = "cleaning.by",
    [F_day_cleaning_by] = "cleaning.by",
};

const char *setting_of_fact(int fact) { return keys[fact]; }

/* `name` is the key below `key`, where the fact says which; absent otherwise. */
static bool is_key(struct text line, const char *key, struct text name)
{
    size_t size = strlen(key);
    if (!name.data)
        return text_is(line, key);
    return line.size == size + 1 + name.size && memcmp(line.data, key, size) == 0 && line.data[size] == '.' &&
           memcmp(line.data + size + 1, name.data, name.size) == 0;
}

static bool is_of_group(struct text line, const char *key)
{
    const char *dot = strchr(key, '.');
    size_t size = dot ? (size_t)(dot - key) + 1 : 0;
    return size > 0 && line.size > size && memcmp(line.data, key, size) == 0;
}

static uint32_t line_of_key(const struct method_settings *method, const char *key, struct text name)
{
    uint32_t group = 0;
    for (size_t i = 0; i < method->line_count; i++) {
        const struct setting_line *line = &method->lines[i];
        if (is_key(line->key, key, name))
            return line->line;
        if (group == 0 && is_of_group(line->key, key))
            group = line->line;
    }
    return group > 0 ? group : method->where.line;
}

struct behind behind_fact(const struct history *history, const struct event *event, int fact)
{
    enum fact_source source = fact_rows[fact].source;
    struct behind behind = {event->sources[source], {0}};
    if (source == SOURCE_NONE || behind.place.line == 0)
        return (struct behind){{0, 0}, {0}};
    if (source == SOURCE_SITE) {
        behind.file = event->setting_files[0];
        if (fact == F_on_menu && history->settings->menu_where.line > 0)
            behind.place.line = history->settings->menu_where.line;
    }
    if (source == SOURCE_METHOD) {
        behind.file = event->setting_files[1];
        bool is_task = fact == F_task || fact == F_task_days;
        struct text name = is_task ? event->facts[F_task].text : (struct text){0};
        if (keys[fact] && event->method_index != NO_METHOD)
            behind.place.line = line_of_key(&history->settings->methods[event->method_index], keys[fact], name);
    }
    return behind;
}
