/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Actions that somebody verified who is on no operators log and is not the director: it may be somebody from outside,
 * or a name that was made up or mistyped. The reader is to judge that. */
#include <inttypes.h>

#include "rulebook/judged.h"

static bool is_operator(const struct history *history, struct text name)
{
    for (size_t i = 0; i < history->record_count[KIND_OPERATORS]; i++)
        if (text_same(record_cell(&history->records[KIND_OPERATORS][i], COL(OPERATORS, operator))->text, name))
            return true;
    return false;
}

/* Each name once, at its first action closed in the period. */
void audit_warn_of_actions(struct audit *audit, const struct history *history, struct period period)
{
    const struct site_settings *settings = history->settings;
    AUTO(names) told = names_new();
    if (!history->kept[KIND_OPERATORS]) /* nobody is on it, and people.known says so */
        return;
    for (size_t i = 0; i < history->record_count[KIND_ACTIONS]; i++) {
        const struct record *action = &history->records[KIND_ACTIONS][i];
        const struct cell *verified_by = record_cell(action, COL(ACTIONS, verified_by));
        day_number closed_on = record_day(action, COL(ACTIONS, closed_on));
        if (!verified_by->present || closed_on == DAY_ABSENT || closed_on < period.from || closed_on > period.to ||
            names_find(told, verified_by->text) || text_same(verified_by->text, settings->director) ||
            is_operator(history, verified_by->text))
            continue;
        names_add(told, verified_by->text);
        struct text path = history_path(history, action->file);
        audit_add_warning(audit, text_print(audit->arena,
                                            "%.*s: %.*s:%" PRIu32 ": %.*s, who verified action %.*s, is not on the "
                                            "operators log, nor the director",
                                            TEXT_FORMAT(settings->site), TEXT_FORMAT(path), action->line,
                                            TEXT_FORMAT(verified_by->text),
                                            TEXT_FORMAT(record_cell(action, COL(ACTIONS, action))->text)));
    }
}
