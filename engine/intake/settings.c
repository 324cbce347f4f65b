/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "intake/settings.h"

#include <errno.h>
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
    if (!fields_is(fields, node, NODE_LIST, name))
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

static const struct field site_keys[] = {
    {.key = "site", .type = FIELD_ID, .required = true, .at = AT(site)},
    {.key = "name", .type = FIELD_TEXT, .at = AT(name)},
    {.key = "certificate", .type = FIELD_READ, .read = read_certificate},
    {.key = "director", .type = FIELD_TEXT, .at = AT(director)},
    {.key = "changes", .type = FIELD_READ, .read = read_changes},
    {.key = "day_starts_at", .type = FIELD_CLOCK, .at = AT(day_starts_at)},
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

/* ---- from texts, and from files ---- */

/* "methods/strip.yaml" is a method file; strip is its name. */
static struct text method_file_name(const char *shown)
{
    const char *slash = strrchr(shown, '/');
    const char *name = slash != NULL ? slash + 1 : shown;
    return (struct text){name, strlen(name) - strlen(".yaml")};
}

static bool parse_source(const struct settings_source *source, struct arena *arena, struct fields *fields,
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

struct sources {
    struct settings_source *all;
    size_t count, capacity;
    struct arena *arena;
};

static bool add_source(struct sources *sources, const char *path, const char *file, struct fault *fault)
{
    struct file_bytes bytes;
    if (!file_read(path, NULL, &bytes, fault))
        return false;
    VECTOR_GROW(sources->all, sources->count, sources->capacity);
    sources->all[sources->count++] =
        (struct settings_source){text_string(sources->arena, text_of(path)), text_string(sources->arena, text_of(file)),
                                 text_keep(sources->arena, (struct text){bytes.data, bytes.size}).data, bytes.size};
    memory_free(bytes.data);
    return true;
}

static bool stands_already(const struct sources *sources, size_t count, const char *name)
{
    for (size_t i = 1; i < count; i++) {
        const char *slash = strrchr(sources->all[i].file, '/');
        if (slash != NULL && strcmp(slash + 1, name) == 0)
            return true;
    }
    return false;
}

static bool add_method(struct sources *sources, const char *folder, const char *name, const char *file_prefix,
                       struct fault *fault)
{
    struct text path = text_print(sources->arena, "%s/%s", folder, name);
    struct text file = text_print(sources->arena, "%smethods/%s", file_prefix, name);
    if (text_ends(text_of(name), ".yaml") && strcmp(strrchr(name, '.'), ".yaml") == 0)
        return add_source(sources, path.data, file.data, fault);
    if (text_ends(text_of(name), ".yaml") || text_ends(text_of(name), ".yml"))
        return fault_set(fault, FAULT_SETTINGS, "%s:1: the name of a method file ends in .yaml", path.data);
    return true;
}

/* The method files of a folder, without those that stand already: a site's own goes before the program's. */
static bool add_methods(struct sources *sources, const char *folder, const char *file_prefix, struct fault *fault)
{
    struct text path = text_print(sources->arena, "%s/methods", folder);
    struct folder_names names;
    size_t before = sources->count;
    bool ok = folder_names_read(path.data, &names) || errno == ENOENT;
    if (!ok)
        fault_set(fault, FAULT_FILE, "%s: cannot be read: %s", path.data, strerror(errno));
    for (size_t i = 0; ok && i < names.count; i++)
        if (!name_is_by_product(names.names[i]) && !stands_already(sources, before, names.names[i]))
            ok = add_method(sources, path.data, names.names[i], file_prefix, fault);
    folder_names_free(&names);
    return ok;
}

static int by_file(const void *a, const void *b)
{
    return strcmp(((const struct settings_source *)a)->file, ((const struct settings_source *)b)->file);
}

bool settings_read_site(const struct folder *folder, const struct site_place *place, struct arena *arena,
                        struct site_settings *out, struct fault *fault)
{
    struct sources sources = {.arena = arena};
    struct text path = text_print(arena, "%s/site.yaml", place->path);
    bool ok = add_source(&sources, path.data, "site.yaml", fault) && add_methods(&sources, place->path, "", fault) &&
              (folder->program_path == NULL || add_methods(&sources, folder->program_path, "../../", fault));
    if (ok && sources.count > 2)
        qsort(sources.all + 1, sources.count - 1, sizeof *sources.all, by_file);
    ok = ok && settings_parse_site(sources.all, sources.count, arena, out, fault);
    memory_free(sources.all);
    if (ok && place->name != NULL && !text_is(out->site, place->name))
        return fault_set(fault, FAULT_SETTINGS, "%s:%u: site: %.*s: must be the name of the folder, %s", path.data,
                         out->where.line, TEXT_FORMAT(out->site), place->name);
    return ok;
}

bool settings_read_program(const struct folder *folder, struct arena *arena, struct program_settings *out,
                           struct fault *fault)
{
    static const struct field keys[] = {
        {.key = "program", .type = FIELD_ID, .required = true, .at = offsetof(struct program_settings, program)},
        {.key = "name", .type = FIELD_TEXT, .at = offsetof(struct program_settings, name)},
        {.key = "policy", .type = FIELD_READ, .read = read_policy, .at = offsetof(struct program_settings, policy)},
        {0}};
    *out = (struct program_settings){0};
    if (folder->program_path == NULL)
        return true;
    struct text path = text_print(arena, "%s/program.yaml", folder->program_path);
    struct fields fields = {arena, path.data, TEXT("../../program.yaml"), fault};
    const struct node *root;
    if (!yaml_read(path.data, path.data, arena, &root, fault) || !fields_read(&fields, root, "", keys, out))
        return false;
    if (out->name.data == NULL)
        out->name = out->program;
    return true;
}
