/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/page_parts.h"

#include "base/version.h"
#include "reports/phrases.h"
#include "reports/reports.h"

struct text page_rule(struct arena *arena, const struct rule_text *rule)
{
    return text_print(arena, "%.*s (%.*s)", TEXT_FORMAT(rule->title), TEXT_FORMAT(rule->id));
}

static bool is_named_before(const struct view *view, size_t silence)
{
    for (size_t i = 0; i < silence; i++)
        if (view->silences[i].rule == view->silences[silence].rule)
            return true;
    return false;
}

void page_share_leaves_out(struct document *document, const struct view *view)
{
    struct text list = {NULL, 0};
    for (size_t i = 0; i < view->silence_count; i++) {
        const struct rule_remark *silence = &view->silences[i];
        if (!rule_is_serious(silence->rule) || is_named_before(view, i))
            continue;
        list = list.data == NULL
                   ? silence->rule->id
                   : text_print(document->arena, "%.*s, %.*s", TEXT_FORMAT(list), TEXT_FORMAT(silence->rule->id));
    }
    if (list.data != NULL)
        document_say(document, ROLE_PLAIN,
                     text_print(document->arena,
                                "The share does not cover these at-risk and breach rules, which were not judged or are "
                                "switched off%s: %.*s.",
                                view->only == NULL && audit_has_sites(view->audit) ? " at one site or more" : "",
                                TEXT_FORMAT(list)));
}

/* Those of `remarks` that are in the state. */
static void remark_table(struct document *document, const struct view *view, const struct rule_remark *remarks,
                         size_t count, enum judged_state state, struct text caption)
{
    static const struct table_column reasons[] = {
        {.title = "Rule", .is_head = true}, {.title = "Why"}, {.title = "Where"}};
    static const struct table_column limits[] = {
        {.title = "Rule", .is_head = true}, {.title = "What is set"}, {.title = "Where"}};
    bool several = view->only == NULL && audit_has_sites(view->audit);
    document_table(document, caption, state == RULE_JUDGED ? limits : reasons, several ? 3 : 2);
    for (size_t i = 0; i < count; i++) {
        if (remarks[i].state != state)
            continue;
        document_row(document);
        document_cell(document, page_rule(document->arena, remarks[i].rule));
        document_cell(document, remarks[i].why);
        if (several)
            document_cell(document, phrase_sites(document->arena, &remarks[i]));
        document_close(document);
    }
    document_close(document);
}

void page_warnings(struct document *document, const struct view *view)
{
    if (view->audit->warning_count > 0)
        document_say(document, ROLE_PLAIN, TEXT("What the audit warns of:"));
    for (size_t i = 0; i < view->audit->warning_count; i++)
        document_say(document, ROLE_CAUTION, view->audit->warnings[i]);
}

void page_warnings_in_short(struct document *document, const struct view *view)
{
    if (view->tests == 0)
        page_warnings(document, view);
    else if (view->audit->warning_count > 0)
        document_say(
            document, ROLE_CAUTION,
            text_print(document->arena, "The audit has %.*s, below under “What was not judged”.",
                       TEXT_FORMAT(phrase_count(document->arena, view->audit->warning_count, "warning", "warnings"))));
}

void page_not_judged(struct document *document, const struct view *view)
{
    document_section(document, TEXT("not-judged"), SECTION_PLAIN);
    document_heading(document, TEXT("What was not judged"));
    if (view->silence_count == 0)
        document_say(document, ROLE_PLAIN,
                     TEXT("No rule is switched off, none broke, and none lacks the log that it needs."));
    if (view->not_judged > 0)
        remark_table(document, view, view->silences, view->silence_count, RULE_NOT_JUDGED,
                     TEXT("Rules that could not be judged"));
    if (view->off > 0)
        remark_table(document, view, view->silences, view->silence_count, RULE_OFF,
                     TEXT("Rules that the site’s or program’s policy switched off"));
    if (view->set_count > 0)
        remark_table(document, view, view->set, view->set_count, RULE_JUDGED,
                     TEXT("Rules judged by limits that the site’s or program’s policy set, not by their own"));
    if (view->tests > 0)
        page_warnings(document, view);
    document_close(document);
}

void page_cautions(struct document *document)
{
    document_section(document, TEXT("cautions"), SECTION_PLAIN);
    document_heading(document, TEXT("Before anyone acts"));
    for (size_t i = 0; report_caution[i] != NULL; i++)
        document_say(document, ROLE_PLAIN, text_of(report_caution[i]));
    document_close(document);
}

void page_made_by(struct document *document, const struct audit *audit)
{
    document_say(document, ROLE_SMALL, TEXT("Made by assize " ASSIZE_VERSION "."));
    if (audit->chain_head[0] != '\0')
        document_say(document, ROLE_SMALL,
                     text_print(document->arena, "Head of the store’s hash chain: %s", audit->chain_head));
    else
        document_say(document, ROLE_SMALL, text_of(report_hashes));
}
