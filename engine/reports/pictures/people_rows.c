/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/people_rows.h"

#include <stdlib.h>

#include "reports/pictures/marks.h"

static bool failed(const struct portrait_training *training) { return text_is(training->outcome, "fail"); }

/* The last training of the day that `i` lies in. */
static size_t end_of_day(const struct person_row *row, size_t i)
{
    while (i + 1 < row->count && row->trainings[i + 1].held_on == row->trainings[i].held_on)
        i++;
    return i;
}

bool person_span(const struct person_row *row, size_t i, struct person_span *out)
{
    size_t last = end_of_day(row, i);
    const struct portrait_training *training = &row->trainings[i];
    if (training->good_until == DAY_ABSENT)
        return false;
    *out = (struct person_span){training->held_on, training->good_until, false};
    out->cut = last + 1 < row->count && row->trainings[last + 1].held_on <= out->to;
    if (out->cut)
        out->to = row->trainings[last + 1].held_on - 1;
    return true;
}

/* Between a span's end and the assessment that follows, as far as the period has it. */
static void find_lapse(const struct portrait *portrait, struct person_row *row)
{
    row->lapse_from = row->lapse_to = DAY_ABSENT;
    for (size_t i = 0; i + 1 < row->count; i++) {
        day_number until = row->trainings[i].good_until, next = row->trainings[i + 1].held_on;
        if (until == DAY_ABSENT || next <= until + 1 || next - 1 < portrait->from || until + 1 > portrait->to)
            continue;
        row->lapse_from = until + 1;
        row->lapse_to = next - 1;
        return;
    }
}

static enum person_state state_of(const struct portrait *portrait, const struct person_row *row)
{
    const struct portrait_training *latest = row->count ? &row->trainings[row->count - 1] : NULL;
    bool any_failed = false;
    if (row->operator_->left_on != DAY_ABSENT)
        return PERSON_LEFT;
    if (!latest)
        return PERSON_UNTRAINED;
    for (size_t i = row->count; i-- > 0 && row->trainings[i].held_on == latest->held_on;)
        any_failed = any_failed || failed(&row->trainings[i]);
    if (any_failed)
        return PERSON_FAILED;
    if (row->until == DAY_ABSENT)
        return PERSON_UNASKED;
    if (row->until < portrait->as_of)
        return PERSON_OVER;
    return row->until <= portrait->as_of + SOON_DAYS ? PERSON_SOON : PERSON_GOOD;
}

static struct text state_says(struct arena *arena, const struct person_row *row)
{
    static const char *const words[] = {"no training", "failed ",        "ran out ", "runs out ",
                                        "good to ",    "last assessed ", "left "};
    day_number day = row->until;
    if (row->state == PERSON_UNTRAINED)
        return text_of(words[0]);
    if (row->state == PERSON_FAILED || row->state == PERSON_UNASKED)
        day = row->latest_on;
    else if (row->state == PERSON_LEFT)
        day = row->operator_->left_on;
    return text_print(arena, "%s%.*s", words[row->state], TEXT_FORMAT(mark_date(arena, day)));
}

static void finish(struct arena *arena, const struct portrait *portrait, struct person_row *row)
{
    row->latest_on = row->count ? row->trainings[row->count - 1].held_on : DAY_ABSENT;
    row->until = row->count ? row->trainings[row->count - 1].good_until : DAY_ABSENT;
    find_lapse(portrait, row);
    row->state = state_of(portrait, row);
    row->says = state_says(arena, row);
}

static int by_need(const void *a, const void *b)
{
    const struct person_row *x = a, *y = b;
    bool lapse_x = x->lapse_from != DAY_ABSENT, lapse_y = y->lapse_from != DAY_ABSENT;
    if (x->state != y->state)
        return x->state < y->state ? -1 : 1;
    if (lapse_x != lapse_y)
        return lapse_x ? -1 : 1;
    if (x->until != y->until)
        return x->until < y->until ? -1 : 1;
    int order = text_compare(x->operator_->operator_, y->operator_->operator_);
    return order ? order : text_compare(x->method, y->method);
}

static int by_method_and_operator(const void *a, const void *b)
{
    const struct person_row *x = a, *y = b;
    int order = text_compare(x->method, y->method);
    return order ? order : text_compare(x->operator_->operator_, y->operator_->operator_);
}

static void add_rows(const struct portrait_operator *operator_, struct person_row **rows, size_t *count,
                     size_t *capacity)
{
    for (size_t i = 0, end; i < operator_->training_count; i = end) {
        const struct portrait_training *first = &operator_->trainings[i];
        for (end = i + 1;
             end < operator_->training_count && text_equal(operator_->trainings[end].method, first->method);)
            end++;
        VECTOR_GROW(*rows, *count, *capacity);
        (*rows)[(*count)++] =
            (struct person_row){.operator_ = operator_, .method = first->method, .trainings = first, .count = end - i};
    }
    if (operator_->training_count > 0 || operator_->tests == 0)
        return;
    VECTOR_GROW(*rows, *count, *capacity);
    (*rows)[(*count)++] = (struct person_row){.operator_ = operator_};
}

struct person_row *person_rows(struct arena *arena, const struct portrait *portrait, size_t most, size_t *count,
                               size_t *left_out)
{
    struct person_row *rows = NULL;
    size_t capacity = 0;
    *count = *left_out = 0;
    for (size_t i = 0; i < portrait->operator_count; i++)
        add_rows(&portrait->operators[i], &rows, count, &capacity);
    struct person_row *kept = arena_take(arena, (*count + 1) * sizeof *kept);
    for (size_t i = 0; i < *count; i++) {
        finish(arena, portrait, &rows[i]);
        kept[i] = rows[i];
    }
    memory_free(rows);
    if (*count > most) {
        qsort(kept, *count, sizeof *kept, by_need);
        *left_out = *count - most;
        *count = most;
    }
    if (*count)
        qsort(kept, *count, sizeof *kept, by_method_and_operator);
    return kept;
}
