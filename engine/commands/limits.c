/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands/limits.h"

#include <string.h>

#include "base/utf8.h"
#include "intake/csv.h"
#include "intake/file.h"
#include "reports/wrapped.h"

enum { ANALYTE, PERCENT, ABSOLUTE, UNIT, SECTION, IN_FORCE_FROM, SOURCE, MARK, NOTE, CELL_COUNT };
enum { SHOWN_ANALYTE, SHOWN_LIMIT, SHOWN_FROM, SHOWN_SECTION, SHOWN_SOURCE, SHOWN_COUNT };

struct limit {
    struct text shown[SHOWN_COUNT], mark, note;
};

struct limits {
    struct arena *arena;
    struct limit *all;
    size_t count, capacity;
};

/* "8 %", "8 % or 6 mg/dL" */
static struct text limit_text(const struct text *cells, struct arena *arena)
{
    struct text percent = text_print(arena, "%.*s %%", TEXT_FORMAT(cells[PERCENT]));
    struct text absolute = text_print(arena, "%.*s %.*s", TEXT_FORMAT(cells[ABSOLUTE]), TEXT_FORMAT(cells[UNIT]));
    if (!cells[ABSOLUTE].size)
        return percent;
    return cells[PERCENT].size ? text_print(arena, "%.*s or %.*s", TEXT_FORMAT(percent), TEXT_FORMAT(absolute))
                               : absolute;
}

static void add_limit(struct limits *limits, const struct text *cells)
{
    VECTOR_GROW(limits->all, limits->count, limits->capacity);
    struct limit *limit = &limits->all[limits->count++];
    limit->shown[SHOWN_ANALYTE] = text_keep(limits->arena, cells[ANALYTE]);
    limit->shown[SHOWN_LIMIT] = limit_text(cells, limits->arena);
    limit->shown[SHOWN_FROM] = text_keep(limits->arena, cells[IN_FORCE_FROM]);
    limit->shown[SHOWN_SECTION] = text_keep(limits->arena, cells[SECTION]);
    limit->shown[SHOWN_SOURCE] = text_keep(limits->arena, cells[SOURCE]);
    limit->mark = text_keep(limits->arena, cells[MARK]);
    limit->note = text_keep(limits->arena, cells[NOTE]);
}

/* The columns stand as in rules/data/README.md. */
static bool read_limits(struct limits *limits, const char *path, struct fault *fault)
{
    struct file_bytes bytes;
    struct csv_reader reader;
    enum csv_row row;
    uint32_t line;
    if (!file_read(path, NULL, &bytes, fault))
        return false;
    csv_start(&reader, bytes.data, bytes.size);
    bool good = true;
    for (bool header = true; good && (row = csv_next(&reader, &line)) != CSV_END; header = false) {
        struct text cells[CELL_COUNT];
        for (size_t i = 0; i < CELL_COUNT; i++)
            cells[i] = i < reader.cell_count ? reader.cells[i] : TEXT("");
        good = row == CSV_ROW && (!header || text_is(cells[ANALYTE], "analyte")) && cells[IN_FORCE_FROM].size;
        if (good && !header)
            add_limit(limits, cells);
    }
    csv_stop(&reader);
    memory_free(bytes.data);
    return good ? true : fault_set(fault, FAULT_FILE, "%s:%u: is no row of limits", path, line);
}

static void print_cell(struct output *output, struct text cell, size_t width)
{
    size_t letters = utf8_count(cell);
    output_print(output, "%.*s%*s", TEXT_FORMAT(cell), (int)(width > letters ? width - letters : 0) + 2, "");
}

static void print_table(const struct limits *limits, struct output *output)
{
    static const char *const heads[SHOWN_COUNT] = {"Analyte", "Limit about the target", "In force", "Section",
                                                   "Source"};
    size_t widths[SHOWN_COUNT];
    for (size_t c = 0; c < SHOWN_COUNT; c++) {
        widths[c] = strlen(heads[c]);
        for (size_t i = 0; i < limits->count; i++)
            if (utf8_count(limits->all[i].shown[c]) > widths[c])
                widths[c] = utf8_count(limits->all[i].shown[c]);
    }
    output_text(output, TEXT("  "));
    for (size_t c = 0; c < SHOWN_COUNT; c++)
        print_cell(output, text_of(heads[c]), widths[c]);
    output_text(output, TEXT("Mark\n"));
    for (size_t i = 0; i < limits->count; i++) {
        output_text(output, TEXT("  "));
        for (size_t c = 0; c < SHOWN_COUNT; c++)
            print_cell(output, limits->all[i].shown[c], widths[c]);
        output_print(output, "%.*s\n", TEXT_FORMAT(limits->all[i].mark));
    }
}

bool limits_print(const char *home, size_t width, struct output *output, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct limits limits = {.arena = arena};
    bool good = read_limits(&limits, text_print(arena, "%s/data/acceptance-limits.csv", home).data, fault);
    if (good) {
        output_text(output, TEXT("\nAcceptance limits (rules/data/acceptance-limits.csv)\n"));
        print_table(&limits, output);
        for (size_t i = 0; i < limits.count; i++)
            if (limits.all[i].note.size)
                wrapped_print(output, width, TEXT("  "), 4,
                              text_print(arena, "%.*s: %.*s", TEXT_FORMAT(limits.all[i].shown[SHOWN_ANALYTE]),
                                         TEXT_FORMAT(limits.all[i].note)));
        wrapped_print(output, width, TEXT("  "), 2,
                      TEXT("Where a row has both, the greater counts. The regulation binds laboratories that hold more "
                           "than a certificate of waiver; for waived tests these limits are a yardstick. Compare a row "
                           "with the regulation in force before you rely on it, above all one marked from memory."));
    }
    memory_free(limits.all);
    return good;
}
