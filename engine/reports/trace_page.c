/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/trace_page.h"

#include <inttypes.h>

#include "base/output.h"
#include "reports/page_parts.h"
#include "reports/phrases.h"
#include "timeline/facts.h"

/* ---- the links of the chain ---- */

enum link {
    LINK_RESULT,
    LINK_OPERATOR,
    LINK_ANALYZER,
    LINK_CLEANING,
    LINK_LOT,
    LINK_CONTROLS,
    LINK_ROOM,
    LINK_SITE,
    LINK_COUNT
};

static const struct {
    const char *title, *themes[3]; /* of the rules that judge it */
} links[LINK_COUNT] = {
    [LINK_RESULT] = {"The result", {"results", "records", NULL}},
    [LINK_OPERATOR] = {"The operator", {"people", NULL}},
    [LINK_ANALYZER] = {"The analyzer", {"analyzer", NULL}},
    [LINK_CLEANING] = {"Its cleaning", {"cleaning", NULL}},
    [LINK_LOT] = {"The reagent lot and its code", {"lots", NULL}},
    [LINK_CONTROLS] = {"The controls", {"controls", NULL}},
    [LINK_ROOM] = {"Room and storage", {"environment", NULL}},
    [LINK_SITE] = {"The site", {"site", NULL}},
};

static enum link link_of_fact(const struct fact_row *fact)
{
    static const enum link by_source[SOURCE_COUNT] = {
        [SOURCE_NONE] = LINK_RESULT,
        [SOURCE_SITE] = LINK_SITE,
        [SOURCE_METHOD] = LINK_RESULT,
        [SOURCE_RUN] = LINK_ANALYZER,
        [SOURCE_OPERATORS] = LINK_OPERATOR,
        [SOURCE_ANALYZERS] = LINK_ANALYZER,
        [SOURCE_LOTS] = LINK_LOT,
        [SOURCE_OPENINGS] = LINK_LOT,
        [SOURCE_CONTROL_LOTS] = LINK_CONTROLS,
        [SOURCE_CODES] = LINK_LOT,
        [SOURCE_CONTROLS] = LINK_CONTROLS,
        [SOURCE_CLEANING] = LINK_CLEANING,
        [SOURCE_TRAINING] = LINK_OPERATOR,
        [SOURCE_MAINTENANCE] = LINK_ANALYZER,
        [SOURCE_LOT_CHECKS] = LINK_LOT,
    };
    switch (fact->scope) {
    case SCOPE_CLAUSE:
        return LINK_CONTROLS;
    case SCOPE_TASK:
    case SCOPE_DAY:
        return LINK_CLEANING;
    case SCOPE_LOT:
        return LINK_LOT;
    default:
        return by_source[fact->source];
    }
}

static bool judges(const struct rule_text *rule, enum link link)
{
    for (const char *const *theme = links[link].themes; *theme != NULL; theme++) {
        size_t size = text_of(*theme).size;
        if (text_starts(rule->id, *theme) && rule->id.size > size && rule->id.data[size] == '.')
            return true;
    }
    return false;
}

/* ---- one result ---- */

static size_t serious_findings(const struct explanation *explanation)
{
    size_t count = 0;
    for (size_t i = 0; i < explanation->finding_count; i++)
        count += explanation->findings[i]->severity <= SEVERITY_BREACH;
    return count;
}

static bool has_method(const struct explanation *explanation)
{
    for (size_t i = 0; i < explanation->link_count; i++)
        if (explanation->links[i].fact == F_method)
            return true;
    return false;
}

static void verdict(struct document *page, const struct explanation *explanation)
{
    struct arena *arena = page->arena;
    size_t serious = serious_findings(explanation);
    if (serious > 0) {
        struct text count = phrase_count(arena, serious, "finding names", "findings name");
        document_say(page, ROLE_VERDICT,
                     text_print(arena, "This result cannot be vouched for: %.*s it.", TEXT_FORMAT(count)));
    } else if (!has_method(explanation))
        document_say(
            page, ROLE_VERDICT,
            TEXT("This result cannot be vouched for: its method cannot be told, so no method's rule judged it."));
    else
        document_say(page, ROLE_VERDICT, TEXT("No at-risk or breach finding names this result."));
}

static struct text place_text(struct arena *arena, const struct record_place *place)
{
    return place->line == 0 ? TEXT("") : text_print(arena, "%.*s:%" PRIu32, TEXT_FORMAT(place->file), place->line);
}

static void add_failed(struct output *list, struct arena *arena, const struct rule_text *rule, struct text more)
{
    output_text(list, output_taken(list).size > 0 ? TEXT("; ") : TEXT("Failed: "));
    output_text(list, page_rule(arena, rule));
    output_text(list, more);
}

/* Does a finding that names the result come from this rule? Then it stands among the findings already. */
static bool is_found(const struct explanation *explanation, const struct rule_text *rule)
{
    for (size_t i = 0; i < explanation->finding_count; i++)
        if (text_equal(explanation->findings[i]->rule->id, rule->id))
            return true;
    return false;
}

/* "; not asked: " and the link's rules that were not: what is good is so without them. */
static struct text not_asked(struct arena *arena, const struct explanations *of, enum link link)
{
    struct text list = TEXT("");
    for (size_t i = 0; i < of->silent_count; i++)
        if (judges(of->silent[i].rule, link))
            list = text_print(arena, "%.*s%s%.*s", TEXT_FORMAT(list),
                              list.size > 0 ? ", " : "; not asked: ", TEXT_FORMAT(of->silent[i].rule->id));
    return list;
}

/* The rules of a link in words: the failed ones by what they ask for, with the findings. */
static struct text link_verdict(struct arena *arena, const struct explanation *explanation, enum link link)
{
    size_t judged = 0;
    AUTO(output) failed = output_memory();
    for (size_t i = 0; i < explanation->finding_count; i++) {
        const struct finding *finding = explanation->findings[i];
        if (judges(finding->rule, link))
            add_failed(failed, arena, finding->rule, text_print(arena, ", %s", finding->number));
    }
    for (size_t i = 0; i < explanation->verdict_count; i++) {
        const struct explained_verdict *verdict = &explanation->verdicts[i];
        if (!judges(verdict->rule, link))
            continue;
        judged++;
        if (verdict->failed && !is_found(explanation, verdict->rule))
            add_failed(failed, arena, verdict->rule, TEXT(""));
    }
    if (output_taken(failed).size > 0)
        return text_keep(arena, output_taken(failed));
    if (judged == 0)
        return TEXT("No finding names it");
    struct text rules = phrase_count(arena, judged, "check", "checks");
    return text_print(arena, "Good: %.*s met", TEXT_FORMAT(rules));
}

static void chain(struct document *page, const struct explanation *explanation, const struct explanations *of)
{
    static const struct table_column columns[] = {{.title = "Link", .is_head = true}, {.title = "What the rules say"}};
    document_table(page, TEXT("The chain behind it"), columns, 2);
    for (enum link link = 0; link < LINK_COUNT; link++) {
        document_row(page);
        document_cell(page, text_of(links[link].title));
        document_cell(page,
                      text_print(page->arena, "%.*s%.*s", TEXT_FORMAT(link_verdict(page->arena, explanation, link)),
                                 TEXT_FORMAT(not_asked(page->arena, of, link))));
        document_close(page);
    }
    document_close(page);
}

static struct text control_text(struct arena *arena, struct text when, const struct record_place *place)
{
    if (when.data == NULL)
        return TEXT("none");
    struct text where = place_text(arena, place);
    return text_print(arena, "%.*s (%.*s)", TEXT_FORMAT(when), TEXT_FORMAT(where));
}

static void controls_around(struct document *page, const struct explanation *explanation)
{
    static const struct table_column columns[] = {{.title = "Level", .is_head = true},
                                                  {.title = "Last good control before"},
                                                  {.title = "Next good control after"},
                                                  {.title = "Failed in between", .is_number = true}};
    if (explanation->control_count == 0)
        return;
    document_table(page, TEXT("Controls on either side, on its analyzer"), columns, 4);
    for (size_t i = 0; i < explanation->control_count; i++) {
        const struct explained_control *control = &explanation->controls[i];
        document_row(page);
        document_cell(page, control->level);
        document_cell(page, control_text(page->arena, control->before, &control->before_place));
        document_cell(page, control_text(page->arena, control->after, &control->after_place));
        document_cell(page, phrase_number(page->arena, control->failed_between));
        document_close(page);
    }
    document_close(page);
}

static void findings(struct document *page, const struct explanation *explanation)
{
    static const struct table_column columns[] = {
        {.title = "Finding", .is_head = true, .is_word = true}, {.title = "Severity"}, {.title = "What was found"}};
    if (explanation->finding_count == 0)
        return;
    document_table(page, TEXT("Findings that name it"), columns, 3);
    for (size_t i = 0; i < explanation->finding_count; i++) {
        const struct finding *finding = explanation->findings[i];
        document_row(page);
        document_cell(page, text_of(finding->number));
        document_open(page, NODE_CELL, 0);
        document_mark(page, finding->severity);
        document_close(page);
        document_cell(
            page, text_print(page->arena, "%.*s (%.*s)", TEXT_FORMAT(finding->says), TEXT_FORMAT(finding->rule->id)));
        document_close(page);
    }
    document_close(page);
}

static bool has_facts(const struct explanation *explanation, enum link link)
{
    for (size_t i = 0; i < explanation->link_count; i++)
        if (link_of_fact(&fact_rows[explanation->links[i].fact]) == link)
            return true;
    return false;
}

static void facts_of_link(struct document *page, const struct explanation *explanation, enum link link)
{
    static const struct table_column columns[] = {
        {.title = "Fact", .is_head = true}, {.title = "What it is"}, {.title = "Then"}, {.title = "Record"}};
    if (!has_facts(explanation, link))
        return;
    struct node *table = document_table(page, text_print(page->arena, "%s: facts", links[link].title), columns, 4);
    table->folded = table->stacks = true;
    for (size_t i = 0; i < explanation->link_count; i++) {
        const struct explained_fact *fact = &explanation->links[i];
        const struct fact_row *row = &fact_rows[fact->fact];
        if (link_of_fact(row) != link)
            continue;
        document_row(page);
        document_cell(page, text_of(row->name));
        document_cell(page, text_of(row->meaning));
        document_cell(page, fact->value);
        document_cell(page, place_text(page->arena, &fact->place));
        document_close(page);
    }
    document_close(page);
}

static void verdicts(struct document *page, const struct explanation *explanation)
{
    static const struct table_column columns[] = {
        {.title = "Rule", .is_head = true}, {.title = "About"}, {.title = "Verdict"}};
    struct node *table = document_table(page, TEXT("Every rule that judged it"), columns, 3);
    table->folded = true;
    for (size_t i = 0; i < explanation->verdict_count; i++) {
        const struct explained_verdict *verdict = &explanation->verdicts[i];
        document_row(page);
        document_cell(page, page_rule(page->arena, verdict->rule));
        document_cell(page, verdict->about.data != NULL ? verdict->about : TEXT(""));
        document_cell(page, verdict->failed ? TEXT("failed") : TEXT("met"));
        document_close(page);
    }
    document_close(page);
}

static void silent(struct document *page, const struct explanations *of)
{
    for (size_t i = 0; i < of->silent_count; i++)
        document_say(page, ROLE_SMALL,
                     text_print(page->arena, "%s: %.*s (%.*s)",
                                of->silent[i].state == RULE_OFF ? "Switched off" : "Not judged",
                                TEXT_FORMAT(of->silent[i].rule->id), TEXT_FORMAT(of->silent[i].why)));
}

void trace_result(struct document *page, const struct explanation *explanation, const struct explanations *of)
{
    struct arena *arena = page->arena;
    document_section(page, explanation->test, SECTION_PLAIN);
    document_heading(page, text_print(arena, "%.*s", TEXT_FORMAT(explanation->test)));
    verdict(page, explanation);
    document_say(page, ROLE_LEAD,
                 text_print(arena, "Run at %.*s on %.*s", TEXT_FORMAT(explanation->site),
                            TEXT_FORMAT(explanation->performed_at)));
    chain(page, explanation, of);
    controls_around(page, explanation);
    findings(page, explanation);
    for (enum link link = 0; link < LINK_COUNT; link++)
        facts_of_link(page, explanation, link);
    verdicts(page, explanation);
    silent(page, of);
    document_close(page);
}

struct document *trace_page(void)
{
    struct document *page = document_new(TEXT("Trace of patient results"));
    document_say(page, ROLE_ABOVE, TEXT("What stands behind a result"));
    document_heading(page, TEXT("Trace of patient results"));
    return page;
}

void trace_end(struct document *page) { page_cautions(page); }
