/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/settings.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "intake/settings_inside.h"

#define AT(field) offsetof(struct site_settings, field)

static const char *const duty_names[DUTY_COUNT] = {"law", "insert", "policy", "accreditor", "practice"};

const char *duty_name(enum duty duty) { return duty_names[duty]; }

bool duty_named(struct text name, enum duty *out)
{
    for (int i = 0; i < DUTY_COUNT; i++) {
        if (!text_is(name, duty_names[i]))
            continue;
        *out = (enum duty)i;
        return true;
    }
    return false;
}

const struct method_settings *settings_method(const struct site_settings *site, struct text method)
{
    for (size_t i = 0; i < site->method_count; i++)
        if (text_equal(site->methods[i].method, method))
            return &site->methods[i];
    return NULL;
}

const struct setting_line *settings_line(const struct method_settings *method, const char *key)
{
    for (size_t i = 0; i < method->line_count; i++)
        if (text_is(method->lines[i].key, key))
            return &method->lines[i];
    return NULL;
}

bool settings_open_on(const struct site_settings *site, day_number day)
{
    bool open = site->open_days >> day_of_week(day) & 1;
    for (size_t i = 0; i < site->closed_count; i++)
        open = open && site->closed_on[i] != day;
    return open;
}

/* ---- site.yaml ---- */

static bool read_changes(const struct fields *fields, const struct node *node, const char *name, void *out)
{
    static const char *const kinds[] = {"ownership", "name", "location", "director", NULL};
    static const struct field change[] = {
        {.key = "what", .type = FIELD_ID, .required = true, .at = offsetof(struct site_change, what)},
        {.key = "on", .type = FIELD_DATE, .required = true, .at = offsetof(struct site_change, on)},
        {.key = "notified_on", .type = FIELD_DATE, .at = offsetof(struct site_change, notified_on)},
        {0}};
    struct site_settings *site = out;
    if (!fields_is(fields, node, NODE_LIST, name))
        return false;
    site->changes = arena_take(fields->arena, fields_count(node) * sizeof *site->changes + 1);
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        struct site_change *read = &site->changes[site->change_count++];
        *read = (struct site_change){.notified_on = DAY_ABSENT, .where = fields_where(fields, child)};
        if (!fields_read(fields, child, name, change, read))
            return false;
        bool known = false;
        for (size_t i = 0; kinds[i] != NULL; i++)
            known = known || text_is(read->what, kinds[i]);
        if (!known)
            return fields_fault(fields, child, name, "%.*s: expected ownership, name, location or director",
                                TEXT_FORMAT(read->what));
    }
    return true;
}

static bool read_open_days(const struct fields *fields, const struct node *node, const char *name, void *out)
{
    static const char *const days[] = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
    unsigned *open_days = out;
    if (!fields_is(fields, node, NODE_LIST, name))
        return false;
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        size_t i = 0;
        while (i < 7 && !(child->kind == NODE_SCALAR && text_is(child->text, days[i])))
            i++;
        if (i == 7)
            return fields_fault(fields, child, name, "%.*s: expected mon, tue, wed, thu, fri, sat or sun",
                                TEXT_FORMAT(child->text));
        *open_days |= 1U << i;
    }
    return true;
}

static bool read_closed_on(const struct fields *fields, const struct node *node, const char *name, void *out)
{
    static const struct field date = {.key = "", .type = FIELD_DATE};
    struct site_settings *site = out;
    if (!fields_is(fields, node, NODE_LIST, name))
        return false;
    site->closed_on = arena_take(fields->arena, fields_count(node) * sizeof *site->closed_on + 1);
    for (const struct node *child = node->first; child != NULL; child = child->next)
        if (!fields_scalar(fields, child, name, &date, &site->closed_on[site->closed_count++]))
            return false;
    return true;
}

static bool read_places(const struct fields *fields, const struct node *node, const char *name, void *out)
{
#define PLACE(field) offsetof(struct place_settings, field)
    static const struct field keys[] = {
        {.key = "place", .type = FIELD_ID, .required = true, .at = PLACE(place)},
        {.key = "low", .type = FIELD_NUMBER, .at = PLACE(low)},
        {.key = "high", .type = FIELD_NUMBER, .at = PLACE(high)},
        {.key = "humidity_high", .type = FIELD_NUMBER, .at = PLACE(humidity_high)},
        {.key = "readings_per_open_day", .type = FIELD_WHOLE, .at = PLACE(readings_per_open_day)},
        {0}};
    struct site_settings *site = out;
    if (!fields_few(fields, node, NODE_LIST, name))
        return false;
    site->places = arena_take(fields->arena, fields_count(node) * sizeof *site->places + 1);
    for (const struct node *child = node->first; child != NULL; child = child->next) {
        struct place_settings *place = &site->places[site->place_count];
        *place = (struct place_settings){.where = fields_where(fields, child)};
        if (!fields_read(fields, child, name, keys, place))
            return false;
        for (size_t i = 0; i < site->place_count; i++)
            if (text_equal(site->places[i].place, place->place))
                return fields_fault(fields, child, name, "%.*s: stands twice", TEXT_FORMAT(place->place));
        if (!fields_range(fields, child, name, place->low, place->high))
            return false;
        site->place_count++;
    }
    return true;
}

static const struct field certificate_keys[] = {
    {.key = "number", .type = FIELD_TEXT, .at = AT(certificate_number)},
    {.key = "kind", .type = FIELD_TEXT, .at = AT(certificate_kind)},
    {.key = "issued_on", .type = FIELD_DATE, .at = AT(certificate_issued_on)},
    {.key = "expires_on", .type = FIELD_DATE, .at = AT(certificate_expires_on)},
    {0}};

static bool read_certificate(const struct fields *fields, const struct node *node, const char *name, void *out)
{
    struct site_settings *site = out;
    site->has_certificate = true;
    site->certificate_where = fields_where(fields, node);
    if (!fields_read(fields, node, name, certificate_keys, site))
        return false;
    bool dated = site->certificate_issued_on != DAY_ABSENT && site->certificate_expires_on != DAY_ABSENT;
    if (dated && site->certificate_issued_on > site->certificate_expires_on)
        return fields_fault(fields, node, name, "expires before it is issued");
    return true;
}

/* Of a testing day, which has the name of the date it starts on: later, most of it would be the next date's. */
enum { LATEST_START = 12 * 60 * 60 };

static const struct field site_keys[] = {
    {.key = "site", .type = FIELD_ID, .required = true, .at = AT(site)},
    {.key = "name", .type = FIELD_TEXT, .at = AT(name)},
    {.key = "certificate", .type = FIELD_READ, .read = read_certificate},
    {.key = "director", .type = FIELD_TEXT, .at = AT(director)},
    {.key = "changes", .type = FIELD_READ, .read = read_changes},
    {.key = "day_starts_at", .type = FIELD_CLOCK, .most = LATEST_START, .at = AT(day_starts_at)},
    {.key = "open_days", .type = FIELD_READ, .read = read_open_days, .at = AT(open_days)},
    {.key = "closed_on", .type = FIELD_READ, .read = read_closed_on},
    {.key = "places", .type = FIELD_READ, .read = read_places},
    {.key = "menu", .type = FIELD_IDS, .at = AT(menu), .count_at = AT(menu_count)},
    {.key = "policy", .type = FIELD_READ, .read = read_policy, .at = AT(policy)},
    {.key = "excused", .type = FIELD_READ, .read = read_excused},
    {0}};

static bool parse_site(const struct fields *fields, const struct node *root, struct site_settings *out)
{
    *out = (struct site_settings){.certificate_issued_on = DAY_ABSENT,
                                  .certificate_expires_on = DAY_ABSENT,
                                  .certificate_where = {fields->file, 1},
                                  .where = fields_where(fields, fields_child(root, "site"))};
    if (!fields_read(fields, root, "", site_keys, out))
        return false;
    if (out->site.data[0] == '.' || memchr(out->site.data, '/', out->site.size) != NULL)
        return fields_fault(fields, fields_child(root, "site"), "site", "%.*s: must be good as the name of a folder",
                            TEXT_FORMAT(out->site));
    if (out->name.data == NULL)
        out->name = out->site;
    const struct node *menu = fields_child(root, "menu");
    if (menu != root)
        out->menu_where = fields_where(fields, menu);
    return true;
}

/* ---- from texts ---- */

/* "methods/strip.yaml" is a method file; strip is its name. */
static struct text method_file_name(const char *shown)
{
    const char *slash = strrchr(shown, '/');
    const char *name = slash != NULL ? slash + 1 : shown;
    return (struct text){name, strlen(name) - strlen(".yaml")};
}

bool parse_source(const struct settings_source *source, struct arena *arena, struct fields *fields,
                  const struct node **root)
{
    char *bytes = memory_new(source->size + 1);
    if (source->size > 0)
        memcpy(bytes, source->bytes, source->size);
    fields->arena = arena;
    fields->shown = source->shown;
    fields->file = text_keep(arena, text_of(source->file));
    bool ok = yaml_parse(&bytes, source->size, source->shown, arena, root, fields->fault);
    memory_free(bytes);
    return ok;
}

static int by_method(const void *a, const void *b)
{
    return text_compare(((const struct method_settings *)a)->method, ((const struct method_settings *)b)->method);
}

bool settings_parse_site(const struct settings_source *sources, size_t count, struct arena *arena,
                         struct site_settings *out, struct fault *fault)
{
    struct fields site_fields = {.fault = fault}, fields = {.fault = fault};
    const struct node *site_root, *root;
    if (!parse_source(&sources[0], arena, &site_fields, &site_root) || !parse_site(&site_fields, site_root, out))
        return false;
    out->methods = arena_take(arena, count * sizeof *out->methods + 1);
    for (size_t i = 1; i < count; i++) {
        if (!parse_source(&sources[i], arena, &fields, &root) ||
            !read_method(&fields, root, method_file_name(sources[i].shown), &out->methods[out->method_count]))
            return false;
        out->method_count++;
    }
    if (out->method_count > 0)
        qsort(out->methods, out->method_count, sizeof *out->methods, by_method);
    settings_doubts(&site_fields, site_root, out);
    return true;
}
