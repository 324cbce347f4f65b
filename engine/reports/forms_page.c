/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/forms_page.h"

#include "base/output.h"
#include "base/version.h"
#include "reports/forms_sheet.h"
#include "reports/page_parts.h"
#include "reports/phrases.h"

enum {
    PAGE_ROWS = 14,  /* of a sheet that is printed as often as needed: fills a lying page of A4 or Letter */
    CONTROL_SETS = 4 /* of all levels, where controls are not run each day */
};

struct forms {
    struct document *document;
    const struct history *history; /* of the site in hand */
    const struct site_settings *settings;
    bool has_sites;
    day_number first, last;
    size_t sheets;
};

struct instrument { /* a row of the analyzers log in service in the month */
    struct text analyzer, method_name;
    const struct method_settings *method; /* NULL: it has no file */
};

/* ---- days ---- */

/* Where site.yaml names no open days, every day may be one. */
static bool is_open(const struct site_settings *settings, day_number day)
{
    return settings->open_days == 0 || settings_open_on(settings, day);
}

static struct text day_name(struct arena *arena, day_number day)
{
    static const char *const names[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
    char date[DAY_TEXT_SIZE];
    day_print(day, date);
    return text_print(arena, "%s %s", names[day_of_week(day)], date);
}

static day_number next_open(const struct site_settings *settings, day_number day, day_number last)
{
    while (day <= last && !is_open(settings, day))
        day++;
    return day;
}

size_t forms_task_days(const struct site_settings *settings, day_number first, day_number last, int64_t days,
                       day_number out[31])
{
    size_t count = 0;
    day_number day = next_open(settings, first, last);
    while (day <= last && count < 31) {
        out[count++] = day;
        day_number due = days < 31 ? day + (day_number)days : last + 1, latest = due;
        while (latest > day && !is_open(settings, latest))
            latest--;
        day = latest > day ? latest : next_open(settings, due, last); /* closed for longer than it may wait */
    }
    return count;
}

/* ---- texts ---- */

static struct text id_of(struct forms *forms)
{
    return text_print(forms->document->arena, "sheet-%zu", ++forms->sheets);
}

/* "Controls, analyzer A1 (hba1c-strip)"; of a program the site stands before it. */
static struct text heading(struct forms *forms, const char *log, const char *what, struct text which)
{
    struct arena *arena = forms->document->arena;
    struct text says =
        which.data == NULL ? text_of(log) : text_print(arena, "%s, %s%.*s", log, what, TEXT_FORMAT(which));
    return forms->has_sites ? text_print(arena, "%.*s: %.*s", TEXT_FORMAT(forms->settings->site), TEXT_FORMAT(says))
                            : says;
}

/* "November 2026, Ninefold Mill Health Center" */
static struct text whose(struct forms *forms)
{
    struct arena *arena = forms->document->arena;
    struct text name = forms->settings->name.size > 0 ? forms->settings->name : forms->settings->site;
    struct text month = phrase_period(arena, forms->first, forms->last);
    return text_print(arena, "%.*s, %.*s", TEXT_FORMAT(month), TEXT_FORMAT(name));
}

static struct text instrument_name(struct forms *forms, const struct instrument *instrument)
{
    return text_print(forms->document->arena, "%.*s (%.*s)", TEXT_FORMAT(instrument->analyzer),
                      TEXT_FORMAT(instrument->method_name));
}

/* ---- sheets of an analyzer and method ---- */

static struct sheet sheet_of_instrument(struct forms *forms, enum kind_id kind, const struct instrument *instrument)
{
    struct sheet sheet = sheet_of(forms->document, kind);
    const struct method_settings *method = instrument->method;
    int unit = kind_column(sheet.kind, TEXT("unit")), code = kind_column(sheet.kind, TEXT("code"));
    sheet.always[kind_column(sheet.kind, TEXT("analyzer"))] = instrument->analyzer;
    sheet.always[kind_column(sheet.kind, TEXT("method"))] = instrument->method_name;
    if (method != NULL && unit >= 0) {
        sheet.always[unit] = method->also_unit_count == 0 ? method->unit : (struct text){NULL, 0};
        sheet.left_out[unit] = method->unit.data == NULL;
    }
    if (method != NULL && code >= 0)
        sheet.left_out[code] = !method->coded;
    return sheet;
}

static bool each_day(const struct method_settings *method)
{
    for (size_t i = 0; i < method->clause_count; i++)
        if (method->clauses[i].kind == CLAUSE_EACH_DAY)
            return true;
    return false;
}

/* "each day"; of an after clause the events too, which its name leaves out. */
static struct text clause_name(struct arena *arena, const struct control_clause *clause)
{
    const char *const *events = kind_of(KIND_MAINTENANCE)->columns[COL(MAINTENANCE, event)].words;
    struct text says = clause->name;
    const char *before = " ";
    for (size_t i = 0; clause->kind == CLAUSE_AFTER && events[i] != NULL; i++) {
        if (!(clause->after & 1u << i))
            continue;
        says = text_print(arena, "%.*s%s%s", TEXT_FORMAT(says), before, events[i]);
        before = ", ";
    }
    return says;
}

static struct text when_asked(struct arena *arena, const struct method_settings *method)
{
    struct text says = {NULL, 0};
    for (size_t i = 0; i < method->clause_count; i++) {
        struct text name = clause_name(arena, &method->clauses[i]);
        says = text_print(arena, "%.*s%s%.*s", TEXT_FORMAT(says), i == 0 ? "Asked for: " : "; ", TEXT_FORMAT(name));
    }
    return method->clause_count > 0 ? text_print(arena, "%.*s.", TEXT_FORMAT(says)) : says;
}

static void put_levels(struct sheet *sheet, const struct method_settings *method, struct text day)
{
    for (size_t i = 0; i < method->level_count; i++) {
        sheet->row[COL(CONTROLS, performed_at)] = day;
        sheet->row[COL(CONTROLS, level)] = method->levels[i];
        sheet_row(sheet);
    }
}

static void controls_sheet(struct forms *forms, const struct instrument *instrument)
{
    const struct method_settings *method = instrument->method;
    struct arena *arena = forms->document->arena;
    if (method == NULL || !method->has_controls)
        return;
    struct sheet sheet = sheet_of_instrument(forms, KIND_CONTROLS, instrument);
    sheet_begin(&sheet, id_of(forms), heading(forms, "Controls", "analyzer ", instrument_name(forms, instrument)),
                whose(forms), when_asked(arena, method));
    for (day_number day = forms->first; each_day(method) && day <= forms->last; day++)
        if (is_open(forms->settings, day))
            put_levels(&sheet, method, day_name(arena, day));
    for (size_t i = 0; !each_day(method) && i < CONTROL_SETS; i++)
        put_levels(&sheet, method, (struct text){NULL, 0});
    sheet_end(&sheet);
}

static void tests_sheet(struct forms *forms, const struct instrument *instrument)
{
    const struct method_settings *method = instrument->method;
    struct sheet sheet = sheet_of_instrument(forms, KIND_TESTS, instrument);
    if (method != NULL && !method->follow_up_low.present && !method->follow_up_high.present)
        sheet.left_out[COL(TESTS, notified_at)] = true;
    sheet_begin(&sheet, id_of(forms), heading(forms, "Patient tests", "analyzer ", instrument_name(forms, instrument)),
                whose(forms),
                TEXT("Print this sheet as often as it is needed. Write specimen ids, never a person’s "
                     "name."));
    sheet_rows(&sheet, PAGE_ROWS);
    sheet_end(&sheet);
}

static void codes_sheet(struct forms *forms, const struct instrument *instrument)
{
    if (instrument->method == NULL || !instrument->method->coded)
        return;
    struct sheet sheet = sheet_of(forms->document, KIND_CODES);
    sheet.always[COL(CODES, analyzer)] = instrument->analyzer;
    sheet_begin(&sheet, id_of(forms), heading(forms, "Codes", "analyzer ", instrument_name(forms, instrument)),
                whose(forms), TEXT("A row each time that a code is put into the analyzer."));
    sheet_rows(&sheet, PAGE_ROWS);
    sheet_end(&sheet);
}

/* ---- cleaning: a sheet for an analyzer, whatever methods it runs ---- */

static void cleaning_row(struct sheet *sheet, struct text when, struct text task)
{
    sheet->row[COL(CLEANING, cleaned_at)] = when;
    sheet->row[COL(CLEANING, task)] = task;
    sheet_row(sheet);
}

static void put_tasks(struct forms *forms, struct sheet *sheet, const struct method_settings *method)
{
    struct arena *arena = forms->document->arena;
    for (size_t i = 0; i < method->task_count; i++) {
        day_number due[31];
        size_t count = forms_task_days(forms->settings, forms->first, forms->last, method->tasks[i].days, due);
        for (size_t d = 0; d < count; d++) {
            struct text day = day_name(arena, due[d]);
            cleaning_row(sheet, text_print(arena, "by %.*s", TEXT_FORMAT(day)), method->tasks[i].name);
        }
    }
}

/* Of the analyzer's methods the first that asks for a daily cleaning, else for any, speaks for it. */
static const struct method_settings *cleaned_for(const struct instrument *instruments, size_t count,
                                                 struct text analyzer)
{
    const struct method_settings *found = NULL;
    for (size_t i = 0; i < count; i++) {
        const struct method_settings *method = instruments[i].method;
        if (method == NULL || !method->has_cleaning || !text_equal(instruments[i].analyzer, analyzer))
            continue;
        if (found == NULL || (method->cleaning_daily && !found->cleaning_daily))
            found = method;
    }
    return found;
}

static void cleaning_sheet(struct forms *forms, const struct instrument *instruments, size_t count, size_t number)
{
    struct text analyzer = instruments[number].analyzer;
    const struct method_settings *method = cleaned_for(instruments, count, analyzer);
    for (size_t i = 0; i < number; i++)
        if (text_equal(instruments[i].analyzer, analyzer))
            return;
    if (method == NULL)
        return;
    struct sheet sheet = sheet_of(forms->document, KIND_CLEANING);
    sheet.always[COL(CLEANING, analyzer)] = analyzer;
    sheet_begin(&sheet, id_of(forms), heading(forms, "Cleaning", "analyzer ", analyzer), whose(forms),
                TEXT("Daily: after the day’s last run. What is done sooner than by the day named is "
                     "due again sooner."));
    put_tasks(forms, &sheet, method);
    for (day_number day = forms->first; method->cleaning_daily && day <= forms->last; day++)
        if (is_open(forms->settings, day))
            cleaning_row(&sheet, day_name(forms->document->arena, day), TEXT("daily"));
    sheet_end(&sheet);
}

/* ---- sheets of a place ---- */

static struct text limits(struct arena *arena, const struct place_settings *place)
{
    struct text says = {NULL, 0};
    if (place->low.present && place->high.present)
        says = text_print(arena, "%.*s to %.*s °C.", TEXT_FORMAT(place->low.text), TEXT_FORMAT(place->high.text));
    else if (place->low.present || place->high.present)
        says = text_print(arena, "At %s %.*s °C.", place->low.present ? "least" : "most",
                          TEXT_FORMAT(place->low.present ? place->low.text : place->high.text));
    if (place->humidity_high.present)
        says = text_print(arena, "%.*s Humidity at most %.*s %%.", TEXT_FORMAT(says),
                          TEXT_FORMAT(place->humidity_high.text));
    return says;
}

static void temperatures_sheet(struct forms *forms, const struct place_settings *place)
{
    struct sheet sheet = sheet_of(forms->document, KIND_TEMPERATURES);
    int readings = place->readings_per_open_day.present ? (int)place->readings_per_open_day.number : 1;
    sheet.always[COL(TEMPERATURES, place)] = place->place;
    sheet.left_out[COL(TEMPERATURES, humidity)] = !place->humidity_high.present;
    sheet_begin(&sheet, id_of(forms), heading(forms, "Temperatures", "", place->place), whose(forms),
                limits(forms->document->arena, place));
    for (day_number day = forms->first; day <= forms->last; day++)
        for (int i = 0; i < readings && is_open(forms->settings, day); i++) {
            sheet.row[COL(TEMPERATURES, read_at)] = day_name(forms->document->arena, day);
            sheet_row(&sheet);
        }
    sheet_end(&sheet);
}

/* ---- sheets of the site ---- */

/* A row whenever something happens. */
static const struct {
    enum kind_id kind;
    const char *log, *about; /* NULL: who works there */
} site_sheets[] = {
    {KIND_LOTS, "Lots received", "A row for each lot; a control lot has a row for each level."},
    {KIND_OPENINGS, "Containers opened", "A row each time that a container is opened."},
    {KIND_LOT_CHECKS, "New lots checked", "A row for each specimen run on the old lot and on the new one."},
    {KIND_TRAINING, "Training and competency", NULL},
    {KIND_MAINTENANCE, "Maintenance and events",
     "A row each time that something is done to an analyzer, or happens to it."},
    {KIND_COMPARISONS, "Proficiency and split samples", "A row for each sample of a round and each analyzer."},
    {KIND_ACTIONS, "Corrective actions",
     "A row for each problem; somebody else than its owner sees that the action worked."},
};
enum { SITE_SHEETS = sizeof site_sheets / sizeof *site_sheets };

/* "Operators: OP-1, OP-2." of those who are there in the month. */
static struct text operators(struct forms *forms)
{
    struct arena *arena = forms->document->arena;
    AUTO(output) says = output_memory();
    for (size_t i = 0; i < forms->history->record_count[KIND_OPERATORS]; i++) {
        const struct record *record = &forms->history->records[KIND_OPERATORS][i];
        day_number left = record_day(record, COL(OPERATORS, left_on));
        if (record_day(record, COL(OPERATORS, started_on)) > forms->last || (left != DAY_ABSENT && left < forms->first))
            continue;
        struct text operator_ = names_text(forms->history->names, record_name(record, COL(OPERATORS, operator)));
        output_print(says, "%s%.*s", output_taken(says).size == 0 ? "Operators: " : ", ", TEXT_FORMAT(operator_));
    }
    if (output_taken(says).size == 0)
        return (struct text){NULL, 0};
    output_text(says, TEXT("."));
    return text_keep(arena, output_taken(says));
}

static void site_sheet(struct forms *forms, size_t number)
{
    struct sheet sheet = sheet_of(forms->document, site_sheets[number].kind);
    const char *about = site_sheets[number].about, *log = site_sheets[number].log;
    sheet_begin(&sheet, id_of(forms), heading(forms, log, "", (struct text){NULL, 0}), whose(forms),
                about == NULL ? operators(forms) : text_of(about));
    sheet_rows(&sheet, PAGE_ROWS);
    sheet_end(&sheet);
}

/* ---- a site, and all ---- */

static size_t list_instruments(struct forms *forms, struct instrument *out)
{
    size_t count = 0;
    for (size_t i = 0; i < forms->history->record_count[KIND_ANALYZERS]; i++) {
        const struct record *record = &forms->history->records[KIND_ANALYZERS][i];
        day_number retired = record_day(record, COL(ANALYZERS, retired_on));
        if (record_day(record, COL(ANALYZERS, in_service_on)) > forms->last ||
            (retired != DAY_ABSENT && retired < forms->first))
            continue;
        struct names *names = forms->history->names;
        struct text method = names_text(names, record_name(record, COL(ANALYZERS, method)));
        out[count++] = (struct instrument){names_text(names, record_name(record, COL(ANALYZERS, analyzer))), method,
                                           settings_method(forms->settings, method)};
    }
    return count;
}

static void say_no_analyzers(struct forms *forms)
{
    document_section(forms->document, id_of(forms), SECTION_PLAIN);
    document_heading(forms->document, heading(forms, "No analyzers", "", (struct text){NULL, 0}));
    document_say(forms->document, ROLE_CAUTION,
                 TEXT("By the analyzers log none is in service in this month, so there are no sheets for controls, "
                      "cleaning, tests and codes. Enter the analyzers and make the sheets again."));
    document_close(forms->document);
}

static void site_forms(struct forms *forms, const struct history *history)
{
    forms->history = history;
    forms->settings = history->settings;
    struct instrument *instruments = memory_new((history->record_count[KIND_ANALYZERS] + 1) * sizeof *instruments);
    size_t count = list_instruments(forms, instruments);
    if (count == 0)
        say_no_analyzers(forms);
    for (size_t i = 0; i < count; i++) {
        controls_sheet(forms, &instruments[i]);
        cleaning_sheet(forms, instruments, count, i);
        tests_sheet(forms, &instruments[i]);
        codes_sheet(forms, &instruments[i]);
    }
    for (size_t i = 0; i < forms->settings->place_count; i++)
        temperatures_sheet(forms, &forms->settings->places[i]);
    for (size_t i = 0; i < SITE_SHEETS; i++)
        site_sheet(forms, i);
    memory_free(instruments);
}

/* ---- the first page ---- */

static void meanings_of(struct document *document, enum kind_id id)
{
    static const struct table_column columns[] = {{.title = "Column", .is_head = true}, {.title = "What to write"}};
    struct arena *arena = document->arena;
    struct sheet sheet = sheet_of(document, id);
    struct text caption = text_print(arena, "records/%s.csv: %s", sheet.kind->name, sheet.kind->meaning);
    document_table(document, caption, columns, 2)->folded = true;
    for (size_t i = 0; i < sheet.kind->column_count; i++) {
        if (sheet.left_out[i])
            continue;
        document_row(document);
        document_cell(document, column_title(&sheet.kind->columns[i], arena));
        document_cell(document, column_meaning(&sheet.kind->columns[i], arena));
        document_close(document);
    }
    document_close(document);
}

static void meanings(struct document *document)
{
    static const enum kind_id kinds[] = {KIND_CONTROLS, KIND_CLEANING, KIND_TESTS, KIND_CODES, KIND_TEMPERATURES};
    document_section(document, TEXT("columns"), SECTION_PLAIN);
    document_heading(document, TEXT("What the columns mean"));
    document_say(document, ROLE_PLAIN,
                 TEXT("Columns with * are needed in every row. Dates are written 2026-11-02, times "
                      "09:12."));
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        meanings_of(document, kinds[i]);
    for (size_t i = 0; i < SITE_SHEETS; i++)
        meanings_of(document, site_sheets[i].kind);
    document_close(document);
}

static void page_head(struct document *document, struct text title, day_number first, day_number last)
{
    struct arena *arena = document->arena;
    struct text month = phrase_period(arena, first, last);
    document->title = text_print(arena, "%.*s: log sheets, %.*s", TEXT_FORMAT(title), TEXT_FORMAT(month));
    document_say(document, ROLE_ABOVE, text_print(arena, "Log sheets to write on, %.*s", TEXT_FORMAT(month)));
    document_heading(document, title);
    document_say(document, ROLE_PLAIN,
                 TEXT("Write at once what was done, with the time and your id. Strike out what is wrong so that it can "
                      "still be read. A day without an entry counts as not done: write down why."));
    document_say(document, ROLE_PLAIN,
                 TEXT("These sheets follow the site’s own settings. The package insert, state and local rules and the "
                      "laboratory director decide."));
}

struct document *forms_page(const struct history *const *sites, size_t count, struct text title, day_number first,
                            day_number last)
{
    struct document *document = document_new((struct text){NULL, 0});
    struct forms forms = {.document = document, .has_sites = count > 1, .first = first, .last = last};
    page_head(document, title, first, last);
    meanings(document);
    for (size_t i = 0; i < count; i++)
        site_forms(&forms, sites[i]);
    return document;
}
