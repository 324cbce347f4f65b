/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands/judged.h"

#include "commands/period.h"

bool judged_open(struct judged **out, const struct arguments *arguments, struct fault *fault)
{
    AUTO(judged) judged = memory_new(sizeof *judged);
    *out = NULL;
    judged->book = rulebook_installed(arguments, fault);
    if (!judged->book || !opened_read(&judged->opened, argument_word(arguments, 0), fault) ||
        !opened_knows(judged->opened, argument_text(arguments, "site"), fault) ||
        !opened_store(&judged->store, judged->opened->folder->store_path, STORE_READ, fault) ||
        !opened_compare(judged->opened, judged->store, false, fault) ||
        !period_or_last(arguments, judged->store, &judged->key, fault))
        return false;
    if (store_was_edited(judged->store))
        print_shown(stderr,
                    "assize: %s: was changed by another program since it was written; `assize verify` says whether it "
                    "is whole",
                    store_path(judged->store));
    *out = judged;
    judged = NULL;
    return true;
}

bool judged_read(struct judged **out, const struct arguments *arguments, bool portraits, struct fault *fault)
{
    AUTO(judged) judged = NULL;
    *out = NULL;
    if (!judged_open(&judged, arguments, fault))
        return false;
    struct judge_wish wish = {.key = judged->key,
                              .only = argument_text(arguments, "site"),
                              .portraits = portraits,
                              .redact = argument_flag(arguments, "redact"),
                              .keep = false};
    if (!opened_judge(judged->opened, judged->store, judged->book, &wish, &judged->audit, fault))
        return false;
    store_head(judged->store, judged->audit->chain_head);
    *out = judged;
    judged = NULL;
    return true;
}

void judged_free(struct judged *judged)
{
    if (!judged)
        return;
    audit_free(judged->audit);
    store_free(judged->store);
    opened_free(judged->opened);
    rulebook_free(judged->book);
    memory_free(judged);
}
