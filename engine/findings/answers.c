/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "findings/answers.h"

#include <ctype.h>
#include <stdlib.h>

/* A dash names nobody. */
static bool is_somebody(struct text name)
{
    for (size_t i = 0; i < name.size; i++)
        if (isalnum((unsigned char)name.data[i]) || (unsigned char)name.data[i] >= 0x80)
            return true;
    return false;
}

/* As actions.verified asks it. */
bool answer_settles(const struct finding_answer *answer)
{
    return answer->closed_on != DAY_ABSENT && answer->closed_on >= answer->opened_on &&
           is_somebody(answer->verified_by) && !text_same(answer->verified_by, answer->owner);
}

/* One that settles the finding before one that is open before one that waits to be verified. */
static int rank(const struct finding_answer *answer)
{
    if (answer_settles(answer))
        return 0;
    return answer->closed_on == DAY_ABSENT ? 1 : 2;
}

static int by_finding(const void *a, const void *b)
{
    const struct finding_answer *x = a, *y = b;
    int order = text_compare(x->finding, y->finding);
    if (order == 0)
        order = rank(x) - rank(y);
    if (order == 0 && rank(x) == 0 && x->closed_on != y->closed_on)
        order = x->closed_on > y->closed_on ? -1 : 1; /* the latest closed first */
    if (order == 0 && x->opened_on != y->opened_on)
        order = x->opened_on > y->opened_on ? -1 : 1; /* the newest first */
    return order != 0 ? order : text_compare(x->action, y->action);
}

static struct text cell_text(const struct record *record, int column, struct arena *arena)
{
    const struct cell *cell = record_cell(record, column);
    return cell->present ? text_keep(arena, cell->text) : (struct text){0};
}

struct finding_answer answer_from(const struct history *history, const struct record *record, struct arena *arena)
{
    return (struct finding_answer){
        .action = cell_text(record, COL(ACTIONS, action), arena),
        .finding = cell_text(record, COL(ACTIONS, finding), arena),
        .analyzer = cell_text(record, COL(ACTIONS, analyzer), arena),
        .about = cell_text(record, COL(ACTIONS, about), arena),
        .problem = cell_text(record, COL(ACTIONS, problem), arena),
        .taken = cell_text(record, COL(ACTIONS, taken), arena),
        .owner = cell_text(record, COL(ACTIONS, owner), arena),
        .verified_by = cell_text(record, COL(ACTIONS, verified_by), arena),
        .opened_on = record_day(record, COL(ACTIONS, opened_on)),
        .due_on = record_day(record, COL(ACTIONS, due_on)),
        .closed_on = record_day(record, COL(ACTIONS, closed_on)),
        .place = {text_keep(arena, history_path(history, record->file)), record->line},
    };
}

void answers_read(struct site_result *site, const struct history *history, struct arena *arena)
{
    size_t count = history->record_count[KIND_ACTIONS];
    site->answers = arena_take(arena, (count + 1) * sizeof *site->answers);
    site->answer_count = 0;
    for (size_t i = 0; i < count; i++) {
        const struct record *record = &history->records[KIND_ACTIONS][i];
        if (record_cell(record, COL(ACTIONS, finding))->present)
            site->answers[site->answer_count++] = answer_from(history, record, arena);
    }
    if (site->answer_count > 0)
        qsort(site->answers, site->answer_count, sizeof *site->answers, by_finding);
}

/* Behind those of its finding that settle it; `first` itself if nothing stands there. */
static const struct finding_answer *unsettled(const struct site_result *site, size_t first)
{
    size_t next = first;
    while (next < site->answer_count && text_equal(site->answers[next].finding, site->answers[first].finding))
        if (!answer_settles(&site->answers[next++]))
            return &site->answers[next - 1];
    return &site->answers[first];
}

bool answer_covers(const struct finding_answer *answer, day_number last)
{
    return answer_settles(answer) && (last == DAY_ABSENT || answer->closed_on >= last);
}

const struct finding_answer *answer_of(const struct site_result *site, struct text number, day_number last)
{
    size_t first = 0, behind = site->answer_count;
    while (first < behind) {
        size_t middle = first + (behind - first) / 2;
        if (text_compare(site->answers[middle].finding, number) < 0)
            first = middle + 1;
        else
            behind = middle;
    }
    if (first == site->answer_count || !text_equal(site->answers[first].finding, number))
        return NULL;
    return answer_covers(&site->answers[first], last) ? &site->answers[first] : unsettled(site, first);
}
