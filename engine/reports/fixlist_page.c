/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/fixlist_page.h"

#include "reports/affected.h"
#include "reports/page_parts.h"
#include "reports/phrases.h"

static void page_head(struct document *document, const struct view *view)
{
    struct arena *arena = document->arena;
    struct text period = phrase_period(arena, view->audit->from, view->audit->to);
    struct text as_of = phrase_day(arena, view->audit->as_of);
    document_say(document, ROLE_ABOVE, text_print(arena, "Fix list, %.*s", TEXT_FORMAT(period)));
    document_heading(document, site_title(view->only));
    document_say(document, ROLE_PLAIN,
                 text_print(arena, "What the audit found, as the records stood on %.*s", TEXT_FORMAT(as_of)));
}

static size_t count_due(const struct view *view)
{
    size_t due = 0;
    for (size_t i = 0; i < view->open_count; i++)
        due += view->worst[i]->due_on != DAY_ABSENT && view->worst[i]->due_on <= view->audit->as_of;
    return due;
}

static void how_to_close(struct document *document)
{
    static const char *const steps[] = {
        "Look at the results it touches. If they may be wrong, show the list to the laboratory director or whoever the "
        "director named for it. Only they decide what happens for a patient.",
        "Do what the entry says under “What to do”.",
        "Write it down in the actions log: the finding’s number, what went wrong and why, what was done, who sees to "
        "it, and the day it was finished. What was missed cannot be made up afterwards: never fill in an old log.",
        "Let somebody else check it and enter their name. The finding then counts as answered.",
    };
    document_section(document, TEXT("how"), SECTION_PLAIN);
    document_heading(document, TEXT("How to close a gap"));
    document_open(document, NODE_LIST, 0);
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        document_open(document, NODE_ITEM, 0);
        document_say(document, ROLE_PLAIN, text_of(steps[i]));
        document_close(document);
    }
    document_close(document);
    document_close(document);
}

static void in_short(struct document *document, const struct view *view)
{
    struct arena *arena = document->arena;
    size_t due = count_due(view);
    document_section(document, TEXT("short"), SECTION_PLAIN);
    document_heading(document, TEXT("In short"));
    if (view->only->missing)
        document_say(document, ROLE_VERDICT,
                     text_print(arena, "This site could not be audited: %.*s", TEXT_FORMAT(view->only->why)));
    else if (view->open_count == 0)
        document_say(document, ROLE_VERDICT, TEXT("Nothing to fix: no finding is open."));
    else {
        struct text gaps = phrase_count(arena, view->open_count, "gap", "gaps");
        document_say(document, ROLE_VERDICT, text_print(arena, "%.*s to close.", TEXT_FORMAT(gaps)));
        document_say(document, ROLE_LEAD, phrase_verdict(arena, view));
    }
    if (due > 0) {
        struct text count = phrase_number(arena, due);
        document_say(document, ROLE_PLAIN,
                     text_print(arena, "%.*s of them should have been closed by today’s list.", TEXT_FORMAT(count)));
    }
    document_close(document);
}

/* What has been written down about it so far. */
static struct text answer_so_far(struct arena *arena, const struct finding *finding)
{
    const struct finding_answer *answer = finding->answer;
    if (answer == NULL)
        return TEXT("No action is written down yet.");
    if (answer->closed_on == DAY_ABSENT)
        return text_print(arena, "Action %.*s is open; %.*s sees to it.", TEXT_FORMAT(answer->action),
                          TEXT_FORMAT(answer->owner));
    struct text closed = phrase_day(arena, answer->closed_on);
    if (answer->verified_by.size == 0)
        return text_print(arena, "Action %.*s was closed on %.*s; somebody else than %.*s must still check it.",
                          TEXT_FORMAT(answer->action), TEXT_FORMAT(closed), TEXT_FORMAT(answer->owner));
    if (answer->closed_on < answer->opened_on)
        return text_print(arena, "Action %.*s was closed on %.*s, before it was opened; mend its days.",
                          TEXT_FORMAT(answer->action), TEXT_FORMAT(closed));
    if (finding->returned[0] != '\0')
        return text_print(arena, "Action %.*s was closed on %.*s, and it came back later; a new action must answer it.",
                          TEXT_FORMAT(answer->action), TEXT_FORMAT(closed));
    if (finding->from.data != NULL && finding_day(finding->from) > answer->closed_on)
        return text_print(arena, "Action %.*s was closed on %.*s, before this happened; a new action must answer it.",
                          TEXT_FORMAT(answer->action), TEXT_FORMAT(closed));
    return text_print(arena, "Action %.*s was checked by %.*s; somebody else than %.*s must check it.",
                      TEXT_FORMAT(answer->action), TEXT_FORMAT(answer->verified_by), TEXT_FORMAT(answer->owner));
}

static void what_happened(struct document *document, const struct finding *finding)
{
    struct arena *arena = document->arena;
    struct text when = phrase_when(arena, finding), subject = phrase_subject(arena, finding);
    document_open(document, NODE_PARAGRAPH, ROLE_PLAIN);
    if (when.size > 0)
        document_text(document, text_print(arena, "%.*s. ", TEXT_FORMAT(when)));
    if (finding->due_on != DAY_ABSENT) {
        document_strong(document,
                        text_print(arena, "Close it by %.*s. ", TEXT_FORMAT(phrase_day(arena, finding->due_on))));
    }
    document_text(document, answer_so_far(arena, finding));
    document_close(document);
    if (subject.size > 0)
        document_say(document, ROLE_SMALL,
                     text_print(arena, "It concerns %.*s. Expected: %.*s.", TEXT_FORMAT(subject),
                                TEXT_FORMAT(finding->rule->title)));
}

static void to_write_on(struct document *document, const struct finding *finding)
{
    document_sign(document, SIGN_WIDE, TEXT("What went wrong, and why"));
    if (finding->severity <= SEVERITY_BREACH && finding->test_count > 0)
        document_sign(document, SIGN_SHORT, TEXT("Results looked through by, on"));
    document_sign(document, SIGN_SHORT, TEXT("Done by, on"));
    document_sign(document, SIGN_SHORT, TEXT("Checked by somebody else, on"));
}

static void entry(struct document *document, const struct finding *finding, size_t number)
{
    struct arena *arena = document->arena;
    struct text places = phrase_evidence(arena, finding);
    document_section(document, text_of(finding->number), SECTION_ENTRY);
    document_heading(document, text_print(arena, "%zu. %.*s", number, TEXT_FORMAT(finding->says)));
    document_open(document, NODE_MARGIN, 0);
    document_tick(document);
    document_mark(document, finding->severity);
    document_strong(document, text_of(finding->number));
    document_text(document, TEXT(" "));
    document_text(document, text_of(finding_state_name(finding->state)));
    document_close(document);
    what_happened(document, finding);
    document_open(document, NODE_PARAGRAPH, ROLE_DO);
    document_strong(document, TEXT("What to do: "));
    document_text(document, finding->rule->remedy);
    document_close(document);
    document_affected(document, finding);
    if (places.size > 0)
        document_say(document, ROLE_SMALL, text_print(arena, "Where it stands: %.*s", TEXT_FORMAT(places)));
    to_write_on(document, finding);
    document_close(document);
}

static void gaps(struct document *document, const struct view *view)
{
    if (view->open_count == 0)
        return;
    document_section(document, TEXT("gaps"), SECTION_PLAIN);
    document_heading(document, TEXT("The gaps, most urgent first"));
    for (size_t i = 0; i < view->open_count; i++)
        entry(document, view->worst[i], i + 1);
    document_close(document);
}

static void closed(struct document *document, const struct view *view)
{
    static const struct table_column columns[] = {{.title = "Finding", .is_head = true, .is_word = true},
                                                  {.title = "What"},
                                                  {.title = "State"},
                                                  {.title = "How"}};
    if (view->apart_count == 0)
        return;
    document_section(document, TEXT("closed"), SECTION_PLAIN);
    document_heading(document, TEXT("Closed"));
    document_table(document, TEXT("Findings that are answered or excused"), columns, 4);
    for (size_t i = 0; i < view->apart_count; i++) {
        const struct finding *finding = view->apart[i];
        document_row(document);
        document_cell(document, text_of(finding->number));
        document_cell(document, finding->says);
        document_cell(document, text_of(finding_state_name(finding->state)));
        document_cell(document, finding->excuse.size > 0  ? phrase_excuse(document->arena, finding)
                                : finding->answer != NULL ? finding->answer->taken
                                                          : TEXT(""));
        document_close(document);
    }
    document_close(document);
    document_close(document);
}

struct document *fixlist_page(const struct view *view)
{
    struct document *document = document_new((struct text){NULL, 0});
    struct text title = site_title(view->only),
                period = phrase_period(document->arena, view->audit->from, view->audit->to);
    document->title = text_print(document->arena, "%.*s: fix list, %.*s", TEXT_FORMAT(title), TEXT_FORMAT(period));
    page_head(document, view);
    in_short(document, view);
    gaps(document, view);
    how_to_close(document);
    closed(document, view);
    page_cautions(document);
    page_made_by(document, view->audit);
    return document;
}
