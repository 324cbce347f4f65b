/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/checklist.h"

#include <inttypes.h>

#include "reports/phrases.h"
#include "timeline/facts.h"

/* ---- facts of an explanation ---- */

static const struct explained_fact *fact_of(const struct explanation *explanation, int fact)
{
    for (size_t i = 0; i < explanation->link_count; i++)
        if (explanation->links[i].fact == fact)
            return &explanation->links[i];
    return NULL;
}

static struct text value_of(const struct explanation *explanation, int fact)
{
    const struct explained_fact *found = fact_of(explanation, fact);
    return found != NULL ? found->value : (struct text){NULL, 0};
}

static bool is_yes(const struct explanation *explanation, int fact)
{
    return text_is(value_of(explanation, fact), "yes");
}

/* ---- a check: its words grow part by part ---- */

static struct check *begin(struct checklist_item *item, const char *what)
{
    struct check *check = &item->checks[item->check_count++];
    *check = (struct check){.what = what};
    return check;
}

static void say(struct check *check, struct arena *arena, struct text part)
{
    check->says =
        check->says.data == NULL ? part : text_print(arena, "%.*s, %.*s", TEXT_FORMAT(check->says), TEXT_FORMAT(part));
}

static void stand(struct check *check, struct record_place place)
{
    for (size_t i = 0; i < check->place_count; i++)
        if (check->places[i].line == place.line && text_equal(check->places[i].file, place.file))
            return;
    if (place.line > 0 && check->place_count < CHECK_PLACES_MOST)
        check->places[check->place_count++] = place;
}

/* "WORDS VALUE" with the record behind it; or, where the fact is absent, `absent` if there is something to say then. */
static void tell(struct check *check, struct arena *arena, const struct explanation *explanation, int fact,
                 const char *words, const char *absent)
{
    const struct explained_fact *found = fact_of(explanation, fact);
    if (found == NULL) {
        if (absent != NULL)
            say(check, arena, text_of(absent));
        return;
    }
    say(check, arena, text_print(arena, "%s%.*s", words, TEXT_FORMAT(found->value)));
    stand(check, found->place);
}

/* ---- the links of the chain ---- */

static void check_result(struct checklist_item *item, const struct explanation *explanation, struct arena *arena)
{
    struct check *check = begin(item, "result");
    struct text unit = value_of(explanation, F_unit), method = value_of(explanation, F_method);
    struct text result = value_of(explanation, F_result);
    say(check, arena,
        unit.data != NULL ? text_print(arena, "%.*s %.*s", TEXT_FORMAT(result), TEXT_FORMAT(unit)) : result);
    if (method.data != NULL)
        say(check, arena, method);
    tell(check, arena, explanation, F_analyzer, "analyzer ", NULL);
    stand(check, item->place);
}

static void check_operator(struct checklist_item *item, const struct explanation *explanation, struct arena *arena)
{
    struct check *check = begin(item, "operator");
    tell(check, arena, explanation, F_operator, "", NULL);
    if (!is_yes(explanation, F_operator_known))
        say(check, arena, TEXT("not on the operators log"));
    tell(check, arena, explanation, F_trained_on, "trained ", "no initial training passed");
    tell(check, arena, explanation, F_passed_on, "passed last ", NULL);
    if (is_yes(explanation, F_assessment_failed))
        tell(check, arena, explanation, F_assessed_on, "failed on ", NULL);
}

static void check_lot(struct checklist_item *item, const struct explanation *explanation, struct arena *arena)
{
    struct check *check = begin(item, "lot");
    tell(check, arena, explanation, F_lot, "", NULL);
    tell(check, arena, explanation, F_lot_expires_on, "expires ", "not on the lots log");
    tell(check, arena, explanation, F_lot_opened_on, "opened ", NULL);
}

static void check_code(struct checklist_item *item, const struct explanation *explanation, struct arena *arena)
{
    if (!is_yes(explanation, F_coded))
        return;
    struct check *check = begin(item, "code");
    tell(check, arena, explanation, F_code, "shown ", "none written down");
    tell(check, arena, explanation, F_lot_code, "the lot’s ", "the lot’s is not on the log");
    tell(check, arena, explanation, F_code_in_place, "entered last ", "none entered before");
}

static void check_controls(struct checklist_item *item, const struct explanation *explanation, struct arena *arena)
{
    if (explanation->control_count == 0)
        return;
    struct check *check = begin(item, "last good controls");
    for (size_t i = 0; i < explanation->control_count; i++) {
        const struct explained_control *control = &explanation->controls[i];
        struct text before = control->before.data != NULL ? control->before : TEXT("none");
        say(check, arena, text_print(arena, "%.*s %.*s", TEXT_FORMAT(control->level), TEXT_FORMAT(before)));
        stand(check, control->before_place);
    }
    if (is_yes(explanation, F_latest_control_failed))
        say(check, arena, TEXT("but a later one failed"));
}

static void check_cleaning(struct checklist_item *item, const struct explanation *explanation, struct arena *arena)
{
    const struct explained_fact *daily = fact_of(explanation, F_cleaned_that_day);
    struct text task = {NULL, 0};
    if (daily == NULL && fact_of(explanation, F_task) == NULL)
        return;
    struct check *check = begin(item, "cleaning");
    if (daily != NULL) {
        bool any = is_yes(explanation, F_cleaned_that_day), after = is_yes(explanation, F_cleaned_after);
        say(check, arena,
            after ? TEXT("daily: that day after the last run")
            : any ? TEXT("daily: that day, but before the last run")
                  : TEXT("daily: not that day"));
        stand(check, daily->place);
    }
    for (size_t i = 0; i < explanation->link_count; i++) {
        const struct explained_fact *link = &explanation->links[i];
        if (link->fact == F_task)
            task = link->value;
        if (link->fact != F_task_from)
            continue;
        const char *words = link->place.line > 0 ? "last" : "none yet, in service since";
        say(check, arena, text_print(arena, "%.*s: %s %.*s", TEXT_FORMAT(task), words, TEXT_FORMAT(link->value)));
        stand(check, link->place);
    }
}

void checklist_item_fill(struct checklist_item *item, const struct explanation *explanation, struct record_place place,
                         struct arena *arena)
{
    *item = (struct checklist_item){.explanation = explanation, .place = place};
    item->specimen = value_of(explanation, F_specimen);
    check_result(item, explanation, arena);
    check_operator(item, explanation, arena);
    check_lot(item, explanation, arena);
    check_code(item, explanation, arena);
    check_controls(item, explanation, arena);
    check_cleaning(item, explanation, arena);
}

/* ---- sentences ---- */

struct text check_places(const struct check *check, struct arena *arena)
{
    struct text list = {NULL, 0};
    for (size_t i = 0; i < check->place_count; i++) {
        const struct record_place *place = &check->places[i];
        bool same_file = i > 0 && text_equal(place->file, check->places[i - 1].file);
        list = i == 0 ? text_print(arena, "%.*s:%" PRIu32, TEXT_FORMAT(place->file), place->line)
               : same_file
                   ? text_print(arena, "%.*s, %" PRIu32, TEXT_FORMAT(list), place->line)
                   : text_print(arena, "%.*s; %.*s:%" PRIu32, TEXT_FORMAT(list), TEXT_FORMAT(place->file), place->line);
    }
    return list;
}

struct text checklist_says_size(const struct checklist *checklist, struct arena *arena)
{
    struct text all = phrase_count(arena, checklist->population, "patient result", "patient results");
    struct text size = phrase_number(arena, checklist->count), bad = phrase_number(arena, checklist->bad);
    if (checklist->population == 0)
        return TEXT("There were no patient results in this period: nothing is drawn.");
    if (checklist->count == checklist->population)
        return text_print(arena, "Of %.*s all must be checked: a smaller draw would not do.", TEXT_FORMAT(all));
    return text_print(arena,
                      "%.*s of %.*s are drawn. If %.*s or more of them (%g %%) %s bad, a draw of this size holds at "
                      "least one with %g %% confidence (hypergeometric distribution).",
                      TEXT_FORMAT(size), TEXT_FORMAT(all), TEXT_FORMAT(bad), checklist->detect * 100,
                      checklist->bad == 1 ? "is" : "are", checklist->confidence * 100);
}

struct text checklist_says_outcome(const struct checklist *checklist, struct arena *arena)
{
    struct text bad = phrase_number(arena, checklist->bad);
    if (checklist->count == checklist->population)
        return TEXT("What the check finds is then all there is.");
    if (checklist->bad == 1)
        return TEXT("If none of those drawn is bad, none at all is, with that confidence. If one is bad, look for the "
                    "cause, and check more.");
    return text_print(arena,
                      "If none of those drawn is bad, fewer than %.*s of all are, with that confidence. If one is bad, "
                      "the draw does not say how many more there are: look for the cause, and check more.",
                      TEXT_FORMAT(bad));
}

struct text checklist_says_specimen(const struct checklist *checklist, const struct checklist_item *item,
                                    struct arena *arena)
{
    return checklist->is_redacted ? item->specimen : text_print(arena, "specimen %.*s", TEXT_FORMAT(item->specimen));
}

struct text checklist_says_seed(const struct checklist *checklist, struct arena *arena)
{
    if (checklist->seed_was_given)
        return text_print(arena,
                          "Seed %" PRIu64
                          ", given by hand. Who chooses the seed can choose the draw: without --seed it "
                          "follows from the records.",
                          checklist->seed);
    return text_print(arena,
                      "Seed %" PRIu64 ", made of %.*s, the period and the head of the store’s hash chain (%s), so that "
                      "nobody chose it: the same records always give the same draw, and other records another.",
                      checklist->seed, TEXT_FORMAT(checklist->of), checklist->chain_head);
}
