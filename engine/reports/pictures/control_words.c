/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/control_words.h"

#include "base/output.h"
#include "reports/phrases.h"

enum { MOST_NAMED = 6 }; /* controls or lots named one by one */

struct text control_key(const struct control_plan *plan, enum control_state state)
{
    static const char *const words[] = {"not judged", "good", "failed"};
    if (plan->states[state] == 0)
        return (struct text){NULL, 0};
    return text_print(plan->arena, "%.*s %s", TEXT_FORMAT(phrase_number(plan->arena, plan->states[state])),
                      words[state]);
}

struct text control_key_covered(const struct control_plan *plan)
{
    if (plan->covered == 0)
        return (struct text){NULL, 0};
    return text_print(plan->arena, "%.*s in a pattern", TEXT_FORMAT(phrase_number(plan->arena, plan->covered)));
}

static void say_counts(const struct control_plan *plan, struct output *output)
{
    static const enum control_state states[] = {CONTROL_GOOD, CONTROL_FAILED, CONTROL_UNJUDGED};
    output_text(output, phrase_count(plan->arena, plan->count, "control", "controls"));
    bool first = true;
    for (size_t i = 0; i < 3; i++) {
        struct text key = control_key(plan, states[i]);
        output_print(output, "%s%.*s", key.size == 0 ? "" : first ? ": " : ", ", TEXT_FORMAT(key));
        first = first && key.size == 0;
    }
    output_print(output, ".");
}

static void say_failed(const struct control_plan *plan, struct output *output)
{
    size_t said = 0;
    for (size_t i = 0; i < plan->count && said < MOST_NAMED; i++) {
        const struct portrait_control *control = plan->points[i].control;
        if (control->state != CONTROL_FAILED)
            continue;
        output_print(output, "%s%.*s on %.*s", said == 0 ? " Failed: " : "; ", TEXT_FORMAT(control->result),
                     TEXT_FORMAT(control->performed_at));
        said++;
    }
    if (plan->states[CONTROL_FAILED] > said)
        output_print(output, "; and %zu more", plan->states[CONTROL_FAILED] - said);
    output_print(output, said > 0 ? "." : "");
}

static void say_patterns(const struct control_plan *plan, struct output *output)
{
    size_t said = 0;
    for (size_t i = 0; i < plan->count && said < MOST_NAMED; i++) {
        const struct plan_point *point = &plan->points[i];
        if (point->says.size == 0)
            continue;
        output_print(output, "%s%.*s on %.*s", said == 0 ? " Patterns: " : "; ", TEXT_FORMAT(point->says),
                     TEXT_FORMAT(point->control->performed_at));
        said++;
    }
    if (said == MOST_NAMED)
        output_print(output, "; %zu in all", plan->patterns);
    output_print(output, said > 0 ? "." : "");
}

static void say_limits(const struct portrait_lot_limits *limits, struct output *output)
{
    if (limits == NULL)
        return;
    if (limits->has_mean)
        output_print(output, ", mean %.10g, SD %.10g", limits->mean, limits->sd);
    if (limits->has_low)
        output_print(output, ", low %.10g", limits->low);
    if (limits->has_high)
        output_print(output, ", high %.10g", limits->high);
}

static void say_lots(const struct control_plan *plan, const struct plan_span *spans, size_t count, const char *what,
                     struct output *output)
{
    for (size_t i = 0; i < count && i < MOST_NAMED; i++) {
        struct text lot = spans[i].lot.size > 0 ? spans[i].lot : TEXT("without a name");
        output_print(output, "%s%.*s", i == 0 ? what : "; then ", TEXT_FORMAT(lot));
        if (i > 0)
            output_print(output, " from %.*s", TEXT_FORMAT(plan->points[spans[i].first].control->performed_at));
        say_limits(spans[i].limits, output);
    }
    if (count > MOST_NAMED)
        output_print(output, "; and %zu more changes", count - MOST_NAMED);
    output_print(output, count > 0 ? "." : "");
}

static struct text description_of(const struct control_plan *plan)
{
    AUTO(output) output = output_memory();
    if (plan->count == 0)
        return TEXT("There are no controls in this period.");
    say_counts(plan, output);
    if (plan->uses_z)
        output_print(output, " Shown as standard deviations from the mean of each control lot.");
    else if (plan->has_values && plan->series->unit.size > 0)
        output_print(output, " In %.*s.", TEXT_FORMAT(plan->series->unit));
    say_failed(plan, output);
    say_patterns(plan, output);
    say_lots(plan, plan->control_lots, plan->control_lot_count, " Control lot ", output);
    say_lots(plan, plan->lots, plan->lot_count, " Reagent lot ", output);
    return text_keep(plan->arena, output_taken(output));
}

static void add_left_out(struct control_plan *plan)
{
    struct text note = {NULL, 0};
    if (plan->left_out > 0)
        note = text_print(plan->arena, "%.*s controls: where they crowd, only the lowest and highest are drawn",
                          TEXT_FORMAT(phrase_number(plan->arena, plan->count)));
    else if (plan->without_value > 0)
        note = text_print(plan->arena, "Not drawn: %.*s without a %s",
                          TEXT_FORMAT(phrase_count(plan->arena, plan->without_value, "control", "controls")),
                          plan->uses_z ? "mean and SD of its lot" : "number");
    if (note.size > 0)
        plan->notes[plan->note_count++] = note;
}

/* A chart without marks must not look as if there was nothing to mark. */
static void add_not_judged(struct control_plan *plan, const struct audit *audit, struct text site)
{
    for (size_t i = 0; i < audit->rule_count; i++) {
        const struct rule_at_site *at = &audit->rules[i];
        if (at->state == RULE_JUDGED || !text_is(at->rule->id, "controls.multirule") || !text_equal(at->site, site))
            continue;
        plan->notes[plan->note_count++] =
            text_print(plan->arena, "Patterns were not looked for: %.*s", TEXT_FORMAT(at->why));
        return;
    }
}

void control_words(struct control_plan *plan, const struct audit *audit, struct text site)
{
    const struct portrait_series *series = plan->series;
    struct text period = phrase_period(plan->arena, plan->portrait->from, plan->portrait->to);
    plan->title = text_print(plan->arena, "Controls of %.*s on %.*s, level %.*s, %.*s", TEXT_FORMAT(series->method),
                             TEXT_FORMAT(series->analyzer), TEXT_FORMAT(series->level), TEXT_FORMAT(period));
    add_left_out(plan);
    add_not_judged(plan, audit, site);
    plan->description = description_of(plan);
    for (size_t i = 0; i < plan->note_count; i++)
        plan->description =
            text_print(plan->arena, "%.*s %.*s.", TEXT_FORMAT(plan->description), TEXT_FORMAT(plan->notes[i]));
}
