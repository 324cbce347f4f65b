/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Places that site.yaml does not list, or lists without limits: their readings are outside no limits, and put no test
 * in doubt. A name that is mistyped in a method file or a log, or a limit left out, must not pass in silence. Nor must
 * limits that nothing is held against: no reading, or none of humidity. */
#include <inttypes.h>

#include "rulebook/judged.h"

static const struct place_settings *find_place(const struct site_settings *settings, struct text place)
{
    for (size_t i = 0; i < settings->place_count; i++)
        if (text_equal(settings->places[i].place, place))
            return &settings->places[i];
    return NULL;
}

/* What keeps a place's readings from all limits, or NULL. */
static const char *trouble_with(const struct site_settings *settings, struct text name)
{
    const struct place_settings *place = find_place(settings, name);
    if (!place)
        return "site.yaml lists no such place, so its readings have no limits";
    if (!place->low.present && !place->high.present && !place->humidity_high.present)
        return "site.yaml gives this place no limits, so its readings are not judged";
    return NULL;
}

static bool is_on_menu(const struct site_settings *settings, struct text method)
{
    for (size_t i = 0; i < settings->menu_count; i++)
        if (text_equal(settings->menu[i], method))
            return true;
    return settings->menu_count == 0;
}

static void warn(struct audit *audit, const struct site_settings *settings, struct text who, struct text place,
                 const char *trouble)
{
    audit_add_warning(audit, text_print(audit->arena, "%.*s: %.*s: %.*s: %s", TEXT_FORMAT(settings->site),
                                        TEXT_FORMAT(who), TEXT_FORMAT(place), trouble));
}

static void look_at_method(struct audit *audit, const struct site_settings *settings,
                           const struct method_settings *method)
{
    const struct text places[] = {method->storage, method->room};
    static const char *const keys[] = {"storage", "room"};
    for (size_t i = 0; i < 2; i++) {
        struct text file = method->where.file;
        const char *trouble = places[i].data ? trouble_with(settings, places[i]) : NULL;
        if (!trouble)
            continue;
        settings_of_program(&file);
        warn(audit, settings, text_print(audit->arena, "%.*s: %s", TEXT_FORMAT(file), keys[i]), places[i], trouble);
    }
}

/* Each place once, at its first reading in the period. */
static void look_at_readings(struct audit *audit, const struct history *history, struct period period)
{
    AUTO(names) told = names_new();
    for (size_t i = 0; i < history->record_count[KIND_TEMPERATURES]; i++) {
        const struct record *record = &history->records[KIND_TEMPERATURES][i];
        struct text place = names_text(history->names, record_name(record, COL(TEMPERATURES, place)));
        day_number day = history_day(history, record_cell(record, COL(TEMPERATURES, read_at))->whole);
        if (day < period.from || day > period.to || names_find(told, place))
            continue;
        names_add(told, place);
        const char *trouble = trouble_with(history->settings, place);
        if (!trouble)
            continue;
        warn(audit, history->settings,
             text_print(audit->arena, "%.*s:%" PRIu32, TEXT_FORMAT(history_path(history, record->file)), record->line),
             place, trouble);
    }
}

/* A place's readings in the period. */
struct readings {
    uint64_t count, without_humidity;
    const struct record *first; /* of those */
};

static struct readings readings_at(const struct history *history, struct period period, struct text place)
{
    struct readings readings = {0};
    uint32_t name = names_find(history->names, place);
    for (size_t i = 0; name != 0 && i < history->record_count[KIND_TEMPERATURES]; i++) {
        const struct record *record = &history->records[KIND_TEMPERATURES][i];
        day_number day = history_day(history, record_cell(record, COL(TEMPERATURES, read_at))->whole);
        if (record_name(record, COL(TEMPERATURES, place)) != name || day < period.from || day > period.to)
            continue;
        readings.count++;
        if (record_cell(record, COL(TEMPERATURES, humidity))->present)
            continue;
        readings.without_humidity++;
        readings.first = readings.first ? readings.first : record;
    }
    return readings;
}

/* Where readings are asked for on each open day, environment.readings tells that there are none. */
static void look_at_limits(struct audit *audit, const struct history *history, struct period period,
                           const struct place_settings *place)
{
    const struct site_settings *settings = history->settings;
    struct readings readings = readings_at(history, period, place->place);
    struct text file = place->where.file;
    struct text where = text_print(audit->arena, "%.*s:%" PRIu32, TEXT_FORMAT(file), place->where.line);
    if (readings.count == 0 && place->readings_per_open_day.number == 0)
        warn(audit, settings, where, place->place,
             "it has limits, and no log has a reading of the period, so nothing is known of it");
    if (readings.count > 0 && place->low.present != place->high.present)
        warn(audit, settings, where, place->place,
             place->low.present ? "it has a low limit only, so no reading is too warm"
                                : "it has a high limit only, so no reading is too cold");
    if (readings.without_humidity > 0 && place->humidity_high.present)
        audit_add_warning(
            audit, text_print(audit->arena,
                              "%.*s: %" PRIu64 " of %" PRIu64 " readings at %.*s have no humidity, though site.yaml "
                              "limits it, so environment.range does not judge that (the first: %.*s:%" PRIu32 ")",
                              TEXT_FORMAT(settings->site), readings.without_humidity, readings.count,
                              TEXT_FORMAT(place->place), TEXT_FORMAT(history_path(history, readings.first->file)),
                              readings.first->line));
}

void audit_warn_of_places(struct audit *audit, const struct history *history, struct period period)
{
    const struct site_settings *settings = history->settings;
    if (settings->place_count == 0 && history->record_count[KIND_TEMPERATURES] == 0)
        return; /* nobody keeps watch of any place, and the count of what environment.* judged says so */
    for (size_t i = 0; i < settings->method_count; i++)
        if (is_on_menu(settings, settings->methods[i].method))
            look_at_method(audit, settings, &settings->methods[i]);
    look_at_readings(audit, history, period);
    for (size_t i = 0; i < settings->place_count && history->kept[KIND_TEMPERATURES]; i++)
        if (trouble_with(settings, settings->places[i].place) == NULL)
            look_at_limits(audit, history, period, &settings->places[i]);
}
