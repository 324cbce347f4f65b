/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The checklist for programs. */
#include <inttypes.h>

#include "reports/checklist.h"
#include "reports/explanation_json.h"
#include "reports/phrases.h"
#include "reports/reports.h"

static void json_places(struct json *json, const struct check *check)
{
    json_list(json, "places", true);
    for (size_t i = 0; i < check->place_count; i++) {
        json_object(json, NULL, true);
        json_text(json, "file", check->places[i].file);
        json_whole(json, "line", check->places[i].line);
        json_end(json);
    }
    json_end(json);
}

static void json_item(struct json *json, const struct checklist_item *item)
{
    explanation_json_begin(json, item->explanation);
    json_text(json, "specimen", item->specimen);
    json_list(json, "checks", false);
    for (size_t i = 0; i < item->check_count; i++) {
        json_object(json, NULL, true);
        json_string(json, "check", item->checks[i].what);
        json_text(json, "says", item->checks[i].says);
        json_places(json, &item->checks[i]);
        json_end(json);
    }
    json_end(json);
    explanation_json_end(json, item->explanation);
}

/* Seed, confidence and share are texts: no reader rounds them. */
void checklist_json(const struct checklist *checklist, struct output *output)
{
    AUTO(arena) arena = arena_new();
    AUTO(json) json = json_new(output);
    json_object(json, NULL, false);
    json_string(json, "format", "assize-sample/1");
    json_text(json, "of", checklist->of);
    json_object(json, "period", true);
    json_text(json, "from", phrase_day(arena, checklist->from));
    json_text(json, "to", phrase_day(arena, checklist->to));
    json_end(json);
    json_text(json, "as_of", phrase_day(arena, checklist->as_of));
    json_text(json, "confidence", text_print(arena, "%.15g", checklist->confidence));
    json_text(json, "detect", text_print(arena, "%.15g", checklist->detect));
    json_whole(json, "results", (int64_t)checklist->population);
    json_whole(json, "bad", (int64_t)checklist->bad);
    json_whole(json, "drawn", (int64_t)checklist->count);
    json_text(json, "seed", text_print(arena, "%" PRIu64, checklist->seed));
    json_string(json, "seed_from", checklist->seed_was_given ? "given" : "records");
    json_string(json, "chain_head", checklist->chain_head);
    json_list(json, "tests", false);
    for (size_t i = 0; i < checklist->count; i++)
        json_item(json, &checklist->items[i]);
    json_end(json);
    json_end(json);
}
