/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A site where nothing has been run yet: no rule about runs has anything to say of it, so the audit says itself what
 * there is still to fill in. */
#include "base/output.h"
#include "rulebook/judged.h"

static void add(struct output *list, struct text what)
{
    output_text(list, output_taken(list).size > 0 ? TEXT(", ") : TEXT(""));
    output_text(list, what);
}

static void add_missing_settings(struct output *list, const struct site_settings *settings, struct arena *arena)
{
    if (!settings->has_certificate)
        add(list, TEXT("the certificate (site.yaml)"));
    if (settings->menu_count == 0)
        add(list, TEXT("the menu (site.yaml)"));
    for (size_t i = 0; i < settings->menu_count; i++)
        if (!settings_method(settings, settings->menu[i]))
            add(list, text_print(arena, "a method file for %.*s", TEXT_FORMAT(settings->menu[i])));
}

static void add_empty_logs(struct output *list, const struct history *history, struct arena *arena)
{
    static const enum kind_id asked_first[] = {KIND_OPERATORS, KIND_ANALYZERS, KIND_LOTS, KIND_TRAINING,
                                               KIND_PROCEDURES};
    for (size_t i = 0; i < sizeof asked_first / sizeof *asked_first; i++)
        if (history->record_count[asked_first[i]] == 0)
            add(list, text_print(arena, "the log %s", kind_of(asked_first[i])->name));
}

void audit_warn_of_site_to_begin(struct audit *audit, const struct history *history)
{
    char as_of[DAY_TEXT_SIZE];
    if (history->run_count > 0)
        return;
    day_print(history->as_of, as_of);
    AUTO(output) list = output_memory();
    add_missing_settings(list, history->settings, audit->arena);
    add_empty_logs(list, history, audit->arena);
    struct text missing = output_taken(list);
    audit_add_warning(audit, text_print(audit->arena,
                                        "%.*s: nothing was run up to %s, so rules about runs judged nothing%s%.*s",
                                        TEXT_FORMAT(history->settings->site), as_of,
                                        missing.size > 0 ? "; still to be filled in: " : "", TEXT_FORMAT(missing)));
}
