/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tests on days that site.yaml calls closed, where nothing of what an open day asks for was asked: the days may have
 * changed, and site.yaml not. */
#include <inttypes.h>

#include "rulebook/judged.h"

void audit_warn_of_closed_days(struct audit *audit, const struct history *history, struct period period)
{
    const struct site_settings *settings = history->settings;
    const struct run *first = NULL;
    day_number last = DAY_ABSENT;
    uint64_t tests = 0, days = 0;
    char first_day[DAY_TEXT_SIZE];
    for (size_t i = 0; i < history->run_count && settings->open_days != 0; i++) {
        const struct run *run = &history->runs[i];
        day_number day = history_day(history, run->at);
        if (run->is_control || day < period.from || day > period.to || settings_open_on(settings, day))
            continue;
        days += day != last;
        last = day;
        tests++;
        first = first ? first : run;
    }
    if (tests == 0)
        return;
    day_print(history_day(history, first->at), first_day);
    audit_add_warning(audit, text_print(audit->arena,
                                        "%.*s: tests run on days that site.yaml calls closed: %" PRIu64
                                        ", such days: %" PRIu64 " (the first: %s, "
                                        "%.*s:%" PRIu32 "); what is asked of open days was not asked there",
                                        TEXT_FORMAT(settings->site), tests, days, first_day,
                                        TEXT_FORMAT(history_path(history, first->file)), first->line));
}
