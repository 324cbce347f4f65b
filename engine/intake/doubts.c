/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a site.yaml says that is no error, and yet cannot be meant. */
#include <string.h>

#include "intake/settings_inside.h"

enum { NUMBER_DIGITS = 10 };

/* "F-" and ten digits of Crockford's base 32, as findings are numbered. */
static bool is_finding_number(struct text text)
{
    static const char digits[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    if (text.size != 2 + NUMBER_DIGITS || memcmp(text.data, "F-", 2) != 0)
        return false;
    for (size_t i = 2; i < text.size; i++)
        if (memchr(digits, text.data[i], sizeof digits - 1) == NULL)
            return false;
    return true;
}

/* Readings are asked for on open days only: without any, nobody would notice that none is taken. */
static void doubt_readings(const struct fields *fields, struct site_settings *site)
{
    for (size_t i = 0; i < site->place_count && site->open_days == 0; i++)
        if (site->places[i].readings_per_open_day.number > 0)
            site->warnings[site->warning_count++] =
                text_print(fields->arena,
                           "%s:%u: places.readings_per_open_day: site.yaml has no open_days, so no reading is asked "
                           "for at %.*s",
                           fields->shown, site->places[i].where.line, TEXT_FORMAT(site->places[i].place));
}

void settings_doubts(const struct fields *fields, const struct node *root, struct site_settings *site)
{
    const struct node *entry = fields_child(root, "menu")->first;
    site->warnings = arena_take(
        fields->arena, (site->menu_count + site->excused_count + site->place_count) * sizeof *site->warnings + 1);
    for (size_t i = 0; i < site->menu_count; i++, entry = entry->next)
        if (settings_method(site, site->menu[i]) == NULL)
            site->warnings[site->warning_count++] =
                text_print(fields->arena, "%s:%u: menu: %.*s: there is no method file methods/%.*s.yaml", fields->shown,
                           entry->line, TEXT_FORMAT(site->menu[i]), TEXT_FORMAT(site->menu[i]));
    for (size_t i = 0; i < site->excused_count; i++)
        if (!is_finding_number(site->excused[i].finding))
            site->warnings[site->warning_count++] =
                text_print(fields->arena,
                           "%s:%u: excused.%.*s: no finding has such a number: F- and ten of 0-9 and "
                           "A-Z without I, L, O and U",
                           fields->shown, site->excused[i].where.line, TEXT_FORMAT(site->excused[i].finding));
    doubt_readings(fields, site);
}
