/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize chart: control charts of an analyzer, one for each level, in the terminal or as a picture. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "commands/judged.h"
#include "findings/portrait.h"
#include "reports/phrases.h"
#include "reports/pictures/control_chart.h"
#include "reports/pictures/control_plan.h"
#include "reports/pictures/control_text.h"
#include "reports/pictures/paint.h"
#include "reports/pictures/svg.h"

static const struct option_row options[] = {
    {"analyzer", "ANALYZER", "the analyzer whose controls are shown", false},
    {"level", "LEVEL", "this level alone", false},
    {"out", "FILE", "write a picture, FILE.svg or FILE.png", false},
    JUDGED_OPTIONS,
    {NULL, NULL, NULL, false},
};

struct chosen { /* a series to show, and where it belongs */
    const struct site_result *site;
    const struct portrait_series *series;
};

enum { NAMES_MOST = 12 };

struct choice {
    struct arena *arena;
    const struct audit *audit;
    const char *analyzer, *level; /* level: NULL for all */
    struct chosen *chosen;
    size_t count, capacity;
    struct text names[NAMES_MOST], there; /* the analyzers, or levels, that there are: for one that is not */
    size_t name_count;
};

static void choice_free(struct choice *choice)
{
    memory_free(choice->chosen);
    arena_free(choice->arena);
}

/* Adds a name to those that are there, once. */
static void add_name(struct choice *choice, struct text name)
{
    for (size_t i = 0; i < choice->name_count; i++)
        if (text_equal(choice->names[i], name))
            return;
    if (choice->name_count == NAMES_MOST)
        return;
    choice->names[choice->name_count++] = name;
    choice->there = text_print(choice->arena, "%.*s%s%.*s", TEXT_FORMAT(choice->there),
                               choice->name_count > 1 ? ", " : "", TEXT_FORMAT(name));
    if (choice->name_count == NAMES_MOST)
        choice->there = text_print(choice->arena, "%.*s …", TEXT_FORMAT(choice->there));
}

/* "--analyzer: A9: no such analyzer in the period; there are A1, A2" */
static bool refuse(const struct choice *choice, const char *option, const char *given, struct fault *fault)
{
    return fault_set(fault, FAULT_USAGE, "--%s: %s: no such %s in the period; there are %.*s", option, given, option,
                     TEXT_FORMAT(choice->name_count > 0 ? choice->there : TEXT("none")));
}

/* Is the analyzer at any site? */
static bool find_analyzer(struct choice *choice, struct fault *fault)
{
    bool found = false;
    for (size_t s = 0; s < choice->audit->site_count; s++) {
        const struct portrait *portrait = choice->audit->sites[s].portrait;
        for (size_t i = 0; portrait && i < portrait->analyzer_count; i++) {
            found |= text_is(portrait->analyzers[i].analyzer, choice->analyzer);
            add_name(choice, portrait->analyzers[i].analyzer);
        }
        for (size_t i = 0; portrait && i < portrait->series_count; i++)
            found |= text_is(portrait->series[i].analyzer, choice->analyzer);
    }
    return found ? true : refuse(choice, "analyzer", choice->analyzer, fault);
}

static bool find_series(struct choice *choice, struct fault *fault)
{
    choice->name_count = 0;
    choice->there = TEXT("");
    for (size_t s = 0; s < choice->audit->site_count; s++) {
        const struct site_result *site = &choice->audit->sites[s];
        for (size_t i = 0; site->portrait && i < site->portrait->series_count; i++) {
            const struct portrait_series *series = &site->portrait->series[i];
            if (!text_is(series->analyzer, choice->analyzer))
                continue;
            add_name(choice, series->level);
            if (choice->level && !text_is(series->level, choice->level))
                continue;
            VECTOR_GROW(choice->chosen, choice->count, choice->capacity);
            choice->chosen[choice->count++] = (struct chosen){site, series};
        }
    }
    if (choice->count > 0)
        return true;
    if (choice->name_count > 0)
        return refuse(choice, "level", choice->level, fault);
    return fault_set(fault, FAULT_USAGE, "%s has no controls in the period", choice->analyzer);
}

/* One site's analyzer only: analyzers of several sites with one name are not one analyzer. */
static bool is_of_one_site(const struct choice *choice, struct fault *fault)
{
    for (size_t i = 1; i < choice->count; i++)
        if (choice->chosen[i].site != choice->chosen[0].site)
            return fault_set(fault, FAULT_USAGE, "%s is at %.*s and at %.*s: say which with --site", choice->analyzer,
                             TEXT_FORMAT(choice->chosen[0].site->site), TEXT_FORMAT(choice->chosen[i].site->site));
    return true;
}

static const char cautions[] = "The package insert, state and local rules and the laboratory director decide.";

/* The first of LC_ALL, LC_CTYPE and LANG that says something. */
static bool is_utf8(void)
{
    static const char *const names[] = {"LC_ALL", "LC_CTYPE", "LANG"};
    for (size_t i = 0; i < 3; i++) {
        const char *value = getenv(names[i]);
        if (value && *value)
            return strstr(value, "UTF-8") || strstr(value, "utf8") || strstr(value, "utf-8");
    }
    return false;
}

static bool print_charts(const struct choice *choice, struct fault *fault)
{
    struct output *output = output_stream(stdout);
    for (size_t i = 0; i < choice->count; i++) {
        const struct chosen *chosen = &choice->chosen[i];
        control_text(
            control_plan_new(choice->arena, chosen->site->portrait, chosen->series, choice->audit, chosen->site->site),
            is_utf8(), output);
        output_print(output, "\n");
    }
    output_print(output, "%s\n", cautions);
    return output_close(output, fault);
}

static bool write_picture(const struct choice *choice, const char *path, struct fault *fault)
{
    const struct drawing **charts = arena_take(choice->arena, choice->count * sizeof *charts);
    for (size_t i = 0; i < choice->count; i++)
        charts[i] = control_chart(choice->arena, choice->chosen[i].site->portrait, choice->chosen[i].series,
                                  choice->audit, choice->chosen[i].site->site);
    struct text period = phrase_period(choice->arena, choice->audit->from, choice->audit->to);
    struct text title = text_print(choice->arena, "Controls on %s, %.*s", choice->analyzer, TEXT_FORMAT(period));
    const struct drawing *sheet = drawing_sheet(choice->arena, charts, choice->count, title, text_of(cautions));
    struct output *output;
    if (!output_page(&output, path, fault))
        return false;
    if (text_ends(text_of(path), ".svg"))
        svg_file(sheet, output);
    else if (!paint_png(sheet, 3, output, fault)) {
        output_free(output);
        return false;
    }
    return output_close(output, fault);
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    const char *out = argument_text(arguments, "out");
    struct choice choice = {.there = TEXT(""),
                            .analyzer = argument_text(arguments, "analyzer"),
                            .level = argument_text(arguments, "level")};
    if (!choice.analyzer)
        fault_set(fault, FAULT_USAGE, "which analyzer? say --analyzer");
    else if (out && !text_ends(text_of(out), ".svg") && !text_ends(text_of(out), ".png"))
        fault_set(fault, FAULT_USAGE, "--out: %s: pictures are written as .svg or .png", out);
    AUTO(judged) judged = NULL;
    if (fault->code != FAULT_NONE || !judged_read(&judged, arguments, true, fault))
        return STATUS_FAILED;
    choice.audit = judged->audit;
    choice.arena = arena_new();
    bool done = find_analyzer(&choice, fault) && find_series(&choice, fault) && is_of_one_site(&choice, fault) &&
                (out ? write_picture(&choice, out, fault) : print_charts(&choice, fault));
    choice_free(&choice);
    return done ? STATUS_DONE : STATUS_FAILED;
}

const struct command command_chart = {
    .name = "chart",
    .for_whom = "anyone",
    .usage = "DIR --analyzer ANALYZER",
    .summary = "shows control charts with limits, patterns and lots",
    .example = "assize chart sample-site --analyzer A1 --level low",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run,
};
