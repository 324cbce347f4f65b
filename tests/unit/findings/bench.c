/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench.h"

#include <string.h>

#include "intake/log.h"

day_number day_of(const char *text)
{
    day_number day = DAY_ABSENT;
    cr_assert(day_parse(text_of(text), &day, NULL), "%s", text);
    return day;
}

void bench_open(struct bench *bench, const char *site, const char *method, const char *as_of)
{
    struct fault fault = {0};
    *bench = (struct bench){.arena = arena_new(), .names = names_new()};
    struct settings_source sources[] = {{"site.yaml", "site.yaml", site, strlen(site)},
                                        {"methods/meter.yaml", "methods/meter.yaml", method, 0}};
    if (method)
        sources[1].size = strlen(method);
    cr_assert(settings_parse_site(sources, method ? 2 : 1, bench->arena, &bench->settings, &fault), "%s", fault.text);
    for (size_t i = 0; i < bench->settings.method_count; i++) {
        const struct method_settings *one = &bench->settings.methods[i];
        names_add(bench->names, one->method);
        for (size_t level = 0; level < one->level_count; level++)
            names_add(bench->names, one->levels[level]);
    }
    names_add(bench->names, TEXT("daily"));
    bench->history = history_new(&bench->settings, bench->names, day_of(as_of));
}

struct filling {
    struct bench *bench;
    const struct record_kind *kind;
    uint32_t file;
};

static void take_row(void *context, uint32_t line, const struct cell *cells)
{
    struct filling *filling = context;
    struct cell named[COLUMNS_MOST];
    for (size_t i = 0; i < filling->kind->column_count; i++) {
        const struct column *column = &filling->kind->columns[i];
        named[i] = cells[i];
        if (cells[i].present && column->type == CELL_ID && !(column->flags & COLUMN_PLENTIFUL))
            named[i].whole = names_add(filling->bench->names, cells[i].text);
    }
    history_row(filling->bench->history, filling->kind, &(struct stored_row){named, filling->file, line});
}

static void refuse(void *context, const struct refusal *refusal, const struct cell *cells)
{
    (void)context;
    (void)cells;
    cr_assert_fail("line %u: %s", refusal->line, refusal->reason);
}

static void warn(void *context, const char *text)
{
    (void)context;
    cr_assert_fail("%s", text);
}

void bench_log(struct bench *bench, enum kind_id kind, const char *csv)
{
    char why[WHY_SIZE] = "", *bytes = memory_copy_string(csv);
    struct text path = text_print(bench->arena, "records/%s.csv", kind_of(kind)->name);
    struct filling filling = {bench, kind_of(kind), names_add(bench->names, path)};
    struct log_sink sink = {&filling, take_row, refuse, warn};
    cr_assert(log_read(filling.kind, path.data, &bytes, strlen(csv), &sink, why), "%s: %s", path.data, why);
    memory_free(bytes);
}

struct portrait *bench_portrait(struct bench *bench, const char *from, const char *to)
{
    history_ready(bench->history);
    return portrait_new(bench->history, day_of(from), day_of(to), bench->arena);
}

void bench_close(struct bench *bench)
{
    history_free(bench->history);
    names_free(bench->names);
    arena_free(bench->arena);
}
