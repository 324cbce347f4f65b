/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/explanation_json.h"

void explanation_json_begin(struct json *json, const struct explanation *explanation)
{
    json_object(json, NULL, false);
    json_text(json, "test", explanation->test);
    json_text(json, "site", explanation->site);
    json_text(json, "performed_at", explanation->performed_at);
}

void explanation_json_end(struct json *json, const struct explanation *explanation)
{
    json_list(json, "findings", true);
    for (size_t i = 0; i < explanation->finding_count; i++)
        json_string(json, NULL, explanation->findings[i]->number);
    json_end(json);
    json_end(json);
}

static void json_place(struct json *json, const struct record_place *place)
{
    json_text(json, "file", place->line ? place->file : (struct text){0});
    if (place->line)
        json_whole(json, "line", place->line);
    else
        json_null(json, "line");
}

/* Rules that could have doubted it, but were not judged or are off. */
static void not_asked(struct json *json, const struct explanations *of)
{
    json_list(json, "not_asked", false);
    for (size_t i = 0; i < of->silent_count; i++) {
        json_object(json, NULL, true);
        json_text(json, "rule", of->silent[i].rule->id);
        json_string(json, "state", judged_state_name(of->silent[i].state));
        json_text(json, "why", of->silent[i].why);
        json_end(json);
    }
    json_end(json);
}

void explanation_json(struct json *json, const struct explanation *explanation, const struct explanations *of)
{
    explanation_json_begin(json, explanation);
    json_list(json, "facts", false);
    for (size_t i = 0; i < explanation->link_count; i++) {
        json_object(json, NULL, true);
        json_string(json, "fact", explanation->links[i].name);
        json_text(json, "value", explanation->links[i].value);
        json_place(json, &explanation->links[i].place);
        json_end(json);
    }
    json_end(json);
    json_list(json, "verdicts", false);
    for (size_t i = 0; i < explanation->verdict_count; i++) {
        json_object(json, NULL, true);
        json_text(json, "rule", explanation->verdicts[i].rule->id);
        json_text(json, "about", explanation->verdicts[i].about);
        json_string(json, "verdict", explanation->verdicts[i].failed ? "failed" : "met");
        json_end(json);
    }
    json_end(json);
    not_asked(json, of);
    explanation_json_end(json, explanation);
}
