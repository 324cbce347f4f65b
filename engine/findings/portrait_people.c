/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The portrait's operators with their training, and the corrective actions. */
#include "findings/answers.h"
#include "findings/portrait_parts.h"

day_number portrait_good_until(const struct history *history, struct text operator_,
                               const struct portrait_training *training, int months, int first_year_months)
{
    struct competency competency = history_competency(history, names_find(history->names, operator_),
                                                      names_find(history->names, training->method), training->held_on);
    return competency_until(&competency, months, first_year_months);
}

static int by_method_and_day(const void *a, const void *b)
{
    const struct portrait_training *x = a, *y = b;
    int order = text_compare(x->method, y->method);
    if (!order && x->held_on != y->held_on)
        order = x->held_on < y->held_on ? -1 : 1;
    if (!order)
        order = text_compare(x->place.file, y->place.file);
    if (!order && x->place.line != y->place.line)
        order = x->place.line < y->place.line ? -1 : 1;
    return order;
}

static void take_trainings(const struct sitting *sitting, uint32_t name, struct portrait_operator *operator_)
{
    const struct history *history = sitting->history;
    struct portrait_training *trainings = NULL;
    size_t capacity = 0;
    for (size_t i = 0; i < history->record_count[KIND_TRAINING]; i++) {
        const struct record *row = &history->records[KIND_TRAINING][i];
        if (record_name(row, COL(TRAINING, operator)) != name)
            continue;
        VECTOR_GROW(trainings, operator_->training_count, capacity);
        trainings[operator_->training_count++] = (struct portrait_training){
            .method = sitting_cell(sitting, row, COL(TRAINING, method)),
            .event = sitting_cell(sitting, row, COL(TRAINING, event)),
            .outcome = sitting_cell(sitting, row, COL(TRAINING, outcome)),
            .assessor = sitting_cell(sitting, row, COL(TRAINING, assessor)),
            .held_on = record_day(row, COL(TRAINING, held_on)),
            .good_until = DAY_ABSENT,
            .place = sitting_place(sitting, row->file, row->line),
        };
    }
    operator_->trainings =
        sitting_items(sitting, trainings, operator_->training_count, sizeof *trainings, by_method_and_day);
}

static struct portrait_operator operator_of(const struct sitting *sitting, const struct record *row,
                                            const struct map *tests)
{
    uint32_t name = record_name(row, COL(OPERATORS, operator));
    const uint64_t *count = map_find(tests, name);
    struct portrait_operator operator_ = {
        .operator_ = sitting_cell(sitting, row, COL(OPERATORS, operator)),
        .name = sitting_cell(sitting, row, COL(OPERATORS, name)),
        .role = sitting_cell(sitting, row, COL(OPERATORS, role)),
        .started_on = record_day(row, COL(OPERATORS, started_on)),
        .left_on = record_day(row, COL(OPERATORS, left_on)),
        .tests = count ? *count : 0,
    };
    take_trainings(sitting, name, &operator_);
    return operator_;
}

static int by_operator(const void *a, const void *b)
{
    return text_compare(((const struct portrait_operator *)a)->operator_,
                        ((const struct portrait_operator *)b)->operator_);
}

void portrait_people(struct sitting *sitting)
{
    const struct history *history = sitting->history;
    struct portrait *portrait = sitting->portrait;
    struct portrait_operator *operators = NULL;
    size_t capacity = 0;
    AUTO(map) tests = map_new();
    for (size_t i = 0; i < history->run_count; i++)
        if (!history->runs[i].is_control && sitting_day(sitting, &history->runs[i]) >= 0)
            ++*map_at(tests, history->runs[i].operator_);
    for (size_t i = 0; i < history->record_count[KIND_OPERATORS]; i++) {
        const struct record *row = &history->records[KIND_OPERATORS][i];
        day_number left = record_day(row, COL(OPERATORS, left_on));
        if (record_day(row, COL(OPERATORS, started_on)) > portrait->as_of ||
            (left != DAY_ABSENT && left < portrait->from))
            continue;
        VECTOR_GROW(operators, portrait->operator_count, capacity);
        operators[portrait->operator_count++] = operator_of(sitting, row, tests);
    }
    portrait->operators = sitting_items(sitting, operators, portrait->operator_count, sizeof *operators, by_operator);
}

static int by_day_and_action(const void *a, const void *b)
{
    const struct finding_answer *x = a, *y = b;
    if (x->opened_on != y->opened_on)
        return x->opened_on < y->opened_on ? -1 : 1;
    return text_compare(x->action, y->action);
}

void portrait_actions(struct sitting *sitting)
{
    const struct history *history = sitting->history;
    struct portrait *portrait = sitting->portrait;
    size_t count = history->record_count[KIND_ACTIONS];
    struct finding_answer *actions = memory_new((count + 1) * sizeof *actions);
    for (size_t i = 0; i < count; i++)
        actions[i] = answer_from(history, &history->records[KIND_ACTIONS][i], sitting->arena);
    portrait->action_count = count;
    portrait->actions = sitting_items(sitting, actions, count, sizeof *actions, by_day_and_action);
}
