/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the site's other records say at a run: certificate, operator, analyzer, lot, result. */
#include "timeline/presence.h"
#include "timeline/standing.h"

static uint64_t key(uint32_t a, uint32_t b) { return map_key(a, b, 0, 0, 0); }

static const struct record *only(struct shelf_range range)
{
    return range.first == range.end ? NULL : range.first->record;
}

static void facts_of_site(struct walk *walk, const struct run *run)
{
    const struct site_settings *site = walk->history->settings;
    if (site->has_certificate) {
        set_day(walk, F_certificate_issued_on, site->certificate_issued_on);
        set_day(walk, F_certificate_expires_on, site->certificate_expires_on);
    }
    if (!run->method)
        return;
    struct text name = names_text(walk->history->names, run->method);
    bool on_menu = false;
    for (size_t i = 0; i < site->menu_count; i++)
        on_menu = on_menu || text_equal(site->menu[i], name);
    const struct method_settings *method = run_method(walk->history, run);
    set_yes(walk, F_on_menu, on_menu);
    set_yes(walk, F_waived, method && method->waived);
}

static void facts_of_training(struct walk *walk, const struct run *run)
{
    struct competency competency = history_competency(walk->history, run->operator_, run->method, walk->event.day);
    set_day(walk, F_trained_on, competency.trained_on);
    set_day(walk, F_assessed_on, competency.assessed_on);
    set_day(walk, F_passed_on, competency.passed_on);
    if (competency.assessed_on != DAY_ABSENT)
        set_yes(walk, F_assessment_failed, competency.failed);
    if (competency.passed_on != DAY_ABSENT)
        set_yes(walk, F_passed_initial, competency.passed_initial);
    set_source(walk, SOURCE_TRAINING, competency.latest);
}

static void facts_of_operator(struct walk *walk, const struct run *run)
{
    const struct record *operator_ = only(shelf_find(&walk->history->operators, key(run->operator_, 0)));
    set_yes(walk, F_operator_known, operator_ != NULL);
    set_source(walk, SOURCE_OPERATORS, operator_);
    if (operator_) {
        set_day(walk, F_operator_started_on, record_day(operator_, COL(OPERATORS, started_on)));
        set_day(walk, F_operator_left_on, record_day(operator_, COL(OPERATORS, left_on)));
    }
    if (!run->method)
        return;
    const struct method_settings *method = run_method(walk->history, run);
    set_yes(walk, F_initial_asked, !method || method->competency_initial);
    facts_of_training(walk, run);
}

static void facts_of_analyzer(struct walk *walk, const struct run *run)
{
    const struct history *history = walk->history;
    const struct record *row =
        run->method ? only(shelf_find(&history->analyzers, key(run->analyzer, run->method))) : NULL;
    set_yes(walk, F_analyzer_known, row != NULL);
    set_source(walk, SOURCE_ANALYZERS, row);
    if (row) {
        set_day(walk, F_in_service_on, record_day(row, COL(ANALYZERS, in_service_on)));
        set_day(walk, F_retired_on, record_day(row, COL(ANALYZERS, retired_on)));
    }
    const struct fact *previous = &walk->facts[F_previous_run];
    if (previous->present) {
        const struct run *before = &history->runs[previous->whole];
        set_whole(walk, F_seconds_since_previous, moment_seconds(run->at) - moment_seconds(before->at));
        set_yes(walk, F_seconds_written, moment_had_seconds(run->at) && moment_had_seconds(before->at));
        set_source_run(walk, SOURCE_RUN, (uint32_t)previous->whole);
    }
    enum { CLOCK_CHECK = 6 }; /* place of the word in maintenance.event; test_walk asserts it */
    const struct shelf_entry *check =
        shelf_latest(shelf_find(&history->maintenance, key(run->analyzer, CLOCK_CHECK)), run->at);
    if (check)
        set_time(walk, F_clock_checked_at, check->at);
    set_source(walk, SOURCE_MAINTENANCE, check ? check->record : NULL);
}

static void facts_of_control_lot(struct walk *walk, const struct run *run)
{
    const struct record *lot = history_lot(walk->history, run->control_lot, run->method, true, run->level);
    set_source(walk, SOURCE_CONTROL_LOTS, lot);
    if (!lot)
        return;
    set_day(walk, F_control_received_on, record_day(lot, COL(LOTS, received_on)));
    set_day(walk, F_control_expires_on, record_day(lot, COL(LOTS, expires_on)));
    set_day(walk, F_control_discarded_on, record_day(lot, COL(LOTS, discarded_on)));
}

/* Different specimens on which the lot was checked at or before the run. */
static void facts_of_lot_checks(struct walk *walk, const struct run *run)
{
    const struct history *history = walk->history;
    const struct shelf_entry *latest =
        shelf_latest(shelf_find(&history->lot_checks, key(run->lot, run->method)), run->at);
    set_whole(walk, F_lot_check_specimens,
              latest ? history->specimens_checked[latest - history->lot_checks.entries] : 0);
    set_source(walk, SOURCE_LOT_CHECKS, latest ? latest->record : NULL);
}

static void facts_of_lot(struct walk *walk, const struct run *run)
{
    const struct history *history = walk->history;
    const struct method_settings *method = run_method(history, run);
    const struct record *lot = history_lot(history, run->lot, run->method, false, 0);
    set_yes(walk, F_lot_known, lot != NULL);
    set_source(walk, SOURCE_LOTS, lot);
    if (lot) {
        set_day(walk, F_lot_received_on, record_day(lot, COL(LOTS, received_on)));
        set_day(walk, F_lot_expires_on, record_day(lot, COL(LOTS, expires_on)));
        set_day(walk, F_lot_discarded_on, record_day(lot, COL(LOTS, discarded_on)));
        set_name(walk, F_lot_code, record_name(lot, COL(LOTS, code)));
    }
    const struct shelf_entry *opening =
        shelf_latest_day(shelf_find(&history->openings, key(run->lot, 0)), walk->event.day);
    if (opening)
        set_day(walk, F_lot_opened_on, shelf_day(opening));
    set_source(walk, SOURCE_OPENINGS, opening ? opening->record : NULL);
    const struct shelf_entry *code = shelf_latest(shelf_find(&history->codes, key(run->analyzer, 0)), run->at);
    if (code)
        set_name(walk, F_code_in_place, record_name(code->record, COL(CODES, code)));
    set_source(walk, SOURCE_CODES, code ? code->record : NULL);
    facts_of_lot_checks(walk, run);
    if (!method)
        return;
    set_yes(walk, F_coded, method->coded);
    set_setting(walk, F_open_life_days, method->open_life_days);
    set_text(walk, F_lot_check_by, text_of(duty_name(method->has_lot_check ? method->lot_check_by : DUTY_PRACTICE)));
    if (method->has_lot_check)
        set_setting(walk, F_lot_check_asked, method->lot_check_specimens);
}

static bool one_of(struct text text, const struct text *texts, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (text_equal(texts[i], text))
            return true;
    return false;
}

static void facts_of_unit(struct walk *walk, const struct run *run, const struct method_settings *method)
{
    set_yes(walk, F_other_unit, run->other_unit);
    if (!run->unit)
        return;
    struct text unit = names_text(walk->history->names, run->unit);
    set_yes(walk, F_unit_known,
            text_equal(unit, method->unit) || one_of(unit, method->also_units, method->also_unit_count));
}

/* Nothing in the method's file is about numbers: it is read in words alone. */
static bool has_words_alone(const struct method_settings *method)
{
    const struct setting_number numbers[] = {method->reportable_low,    method->reportable_high,
                                             method->follow_up_low,     method->follow_up_high,
                                             method->allowable_percent, method->allowable_absolute};
    bool has_numbers = method->unit.data != NULL;
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++)
        has_numbers = has_numbers || numbers[i].present;
    return method->word_count > 0 && !has_numbers;
}

static void facts_of_result(struct walk *walk, const struct run *run)
{
    const struct method_settings *method = run_method(walk->history, run);
    struct text result = run_result(run);
    set_text(walk, F_result, result);
    switch ((enum result_kind)run->result_kind) {
    case RESULT_NUMBER:
        set_number(walk, F_result_number, run->number);
        break;
    case RESULT_BELOW:
        set_number(walk, F_result_below, run->number);
        break;
    case RESULT_ABOVE:
        set_number(walk, F_result_above, run->number);
        break;
    case RESULT_WORD:
        set_text(walk, F_result_word, result);
        break;
    }
    if (!method)
        return;
    if (run->result_kind == RESULT_WORD || has_words_alone(method))
        set_yes(walk, F_word_allowed, one_of(result, method->words, method->word_count));
    facts_of_unit(walk, run, method);
    set_setting(walk, F_run_seconds, method->run_seconds);
    set_setting(walk, F_reportable_low, method->reportable_low);
    set_setting(walk, F_reportable_high, method->reportable_high);
    set_text(walk, F_cleaning_by, text_of(duty_name(method->cleaning_by)));
}

static void facts_of_test(struct walk *walk, const struct run *run)
{
    const struct method_settings *method = run_method(walk->history, run);
    set_text(walk, F_specimen, run_specimen(run));
    set_time(walk, F_collected_at, run->collected_at);
    set_time(walk, F_reported_at, run->reported_at);
    set_time(walk, F_notified_at, run->notified_at);
    if (!method)
        return;
    set_setting(walk, F_follow_up_low, method->follow_up_low);
    set_setting(walk, F_follow_up_high, method->follow_up_high);
    set_setting(walk, F_follow_up_minutes, method->follow_up_within_minutes);
    set_setting(walk, F_max_specimen_minutes, method->max_specimen_minutes);
}

static void facts_of_presence(struct walk *walk, uint32_t place)
{
    const struct history *history = walk->history;
    if (!history->overlaps)
        return;
    const struct presence_at *at = &history->overlaps[place];
    set_yes(walk, F_two_analyzers, at->two_analyzers);
    set_whole(walk, F_overlap_across, at->across);
    set_text(walk, F_elsewhere, at->elsewhere);
    set_whole(walk, F_overlap_here, at->here);
}

void facts_of_run(struct walk *walk, const struct run *run, uint32_t place)
{
    facts_of_presence(walk, place);
    set_name(walk, F_analyzer, run->analyzer);
    set_name(walk, F_method, run->method);
    set_name(walk, F_operator, run->operator_);
    set_name(walk, F_lot, run->lot);
    set_name(walk, F_code, run->code);
    set_name(walk, F_unit, run->unit);
    set_yes(walk, F_is_test, !run->is_control);
    set_yes(walk, F_noted, run->noted);
    set_day(walk, F_site_first_day, history_day(walk->history, walk->history->runs[0].at));
    facts_of_site(walk, run);
    facts_of_operator(walk, run);
    facts_of_analyzer(walk, run);
    if (run->method)
        facts_of_lot(walk, run);
    if (run->is_control && run->method)
        facts_of_control_lot(walk, run);
    facts_of_result(walk, run);
    if (!run->is_control)
        facts_of_test(walk, run);
}
