/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The checklist as a page to print and tick. */
#include "reports/checklist.h"
#include "reports/page_parts.h"
#include "reports/phrases.h"

static void page_head(struct document *document, const struct checklist *checklist)
{
    struct arena *arena = document->arena;
    struct text period = phrase_period(arena, checklist->from, checklist->to),
                as_of = phrase_day(arena, checklist->as_of);
    document_say(document, ROLE_ABOVE, text_print(arena, "Review by hand, %.*s", TEXT_FORMAT(period)));
    document_heading(document, checklist->title);
    document_say(document, ROLE_PLAIN,
                 text_print(arena, "Patient results drawn from the records as they stood on %.*s", TEXT_FORMAT(as_of)));
}

static void page_draw(struct document *document, const struct checklist *checklist)
{
    struct arena *arena = document->arena;
    document_section(document, TEXT("draw"), SECTION_PLAIN);
    document_heading(document, TEXT("The draw"));
    document_say(document, ROLE_LEAD, checklist_says_size(checklist, arena));
    if (checklist->population > 0) {
        document_say(document, ROLE_PLAIN, checklist_says_outcome(checklist, arena));
        document_say(document, ROLE_SMALL, checklist_says_seed(checklist, arena));
    }
    document_close(document);
}

static struct text item_title(const struct checklist *checklist, const struct checklist_item *item, struct arena *arena)
{
    const struct explanation *explanation = item->explanation;
    struct text test = explanation->test;
    if (checklist->has_sites)
        test = text_print(arena, "%.*s/%.*s", TEXT_FORMAT(explanation->site), TEXT_FORMAT(test));
    return text_print(arena, "%.*s, %.*s", TEXT_FORMAT(test), TEXT_FORMAT(explanation->performed_at));
}

static void page_check(struct document *document, const struct check *check)
{
    document_row(document);
    document_open(document, NODE_CELL, 0);
    document_tick(document);
    document_text(document, text_of(check->what));
    document_close(document);
    document_cell(document, check->says);
    document_cell(document, check_places(check, document->arena));
    document_close(document);
}

static void page_item(struct document *document, const struct checklist *checklist, size_t number)
{
    static const struct table_column columns[] = {
        {.title = "Agrees", .is_head = true}, {.title = "What the records say"}, {.title = "Where"}};
    struct arena *arena = document->arena;
    const struct checklist_item *item = &checklist->items[number];
    struct text title = item_title(checklist, item, arena);
    document_section(document, text_print(arena, "result-%zu", number + 1), SECTION_ENTRY);
    document_heading(document, title);
    document_open(document, NODE_MARGIN, 0);
    document_text(document, text_print(arena, "%zu of %zu", number + 1, checklist->count));
    document_close(document);
    struct text specimen = checklist_says_specimen(checklist, item, arena);
    document_table(document, text_print(arena, "Links of the chain, %.*s", TEXT_FORMAT(specimen)), columns, 3);
    for (size_t i = 0; i < item->check_count; i++)
        page_check(document, &item->checks[i]);
    document_close(document);
    for (size_t i = 0; i < item->explanation->finding_count; i++) {
        const struct finding *finding = item->explanation->findings[i];
        document_say(document, ROLE_SMALL,
                     text_print(arena, "The audit names it: %s, %s, %.*s", finding->number,
                                severity_name(finding->severity), TEXT_FORMAT(finding->says)));
    }
    document_close(document);
}

static void page_items(struct document *document, const struct checklist *checklist)
{
    if (checklist->count == 0)
        return;
    document_section(document, TEXT("results"), SECTION_PLAIN);
    document_heading(document, TEXT("Results to check"));
    document_say(
        document, ROLE_DO,
        TEXT("Take the paper, the analyzer’s memory and the chart, not the logs. Tick a box where they agree with "
             "what stands beside it. Where they do not, write down in the margin what they say."));
    for (size_t i = 0; i < checklist->count; i++)
        page_item(document, checklist, i);
    document_close(document);
    document_section(document, TEXT("outcome"), SECTION_PLAIN);
    document_heading(document, TEXT("Outcome"));
    document_sign(document, SIGN_SHORT, TEXT("Results checked"));
    document_sign(document, SIGN_SHORT, TEXT("Results that did not agree"));
    document_sign(document, SIGN_SHORT, TEXT("Reviewer"));
    document_sign(document, SIGN_SHORT, TEXT("Date"));
    document_close(document);
}

struct document *checklist_page(const struct checklist *checklist)
{
    struct document *document = document_new((struct text){NULL, 0});
    struct text period = phrase_period(document->arena, checklist->from, checklist->to);
    document->title = text_print(document->arena, "%.*s: results to check by hand, %.*s", TEXT_FORMAT(checklist->title),
                                 TEXT_FORMAT(period));
    page_head(document, checklist);
    page_draw(document, checklist);
    page_items(document, checklist);
    page_cautions(document);
    return document;
}
