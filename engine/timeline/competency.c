/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How an operator stands for a method. Assessments are on the shelf by day; the worst of a day counts. */
#include "timeline/history.h"

struct competency history_competency(const struct history *history, uint32_t operator_, uint32_t method, day_number day)
{
    struct competency found = {.trained_on = DAY_ABSENT, .assessed_on = DAY_ABSENT, .passed_on = DAY_ABSENT};
    struct shelf_range range = shelf_find(&history->training, map_key(operator_, method, 0, 0, 0));
    for (const struct shelf_entry *entry = range.first; entry < range.end && shelf_day(entry) <= day; entry++) {
        day_number held = shelf_day(entry);
        bool pass = record_cell(entry->record, COL(TRAINING, outcome))->whole == 0;
        bool initial = record_cell(entry->record, COL(TRAINING, event))->whole == 0;
        found.failed = (held == found.assessed_on && found.failed) || !pass;
        found.assessed_on = held;
        found.latest = entry->record;
        if (pass && initial && found.trained_on == DAY_ABSENT)
            found.trained_on = held;
        if (pass) {
            found.passed_initial = initial && (held != found.passed_on || found.passed_initial);
            found.passed_on = held;
        }
    }
    return found;
}

day_number competency_until(const struct competency *competency, int months, int first_year_months)
{
    if (competency->failed || competency->passed_on == DAY_ABSENT)
        return DAY_ABSENT;
    return day_add_months(competency->passed_on, competency->passed_initial ? first_year_months : months);
}
