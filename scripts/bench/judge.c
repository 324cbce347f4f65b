/* SPDX-License-Identifier: GPL-3.0-or-later */
/* judge FOLDER RULES FROM TO WHICH THREADS: judges what the folder's store holds, as `assize audit` does, but loads
 * nothing before and writes no reports after. WHICH of the rules: all, run (those that judge single runs), none (the
 * bare walk), or the id of one. Prints the number of rules, of runs, and the failing events of each rule. */
#include <inttypes.h>
#include <malloc.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "commands/open.h"
#include "rulebook/rulebook.h"

static bool is_wanted(const struct rule *rule, const char *which)
{
    return strcmp(which, "all") == 0 || (strcmp(which, "run") == 0 && !rule->site_rule) ||
           text_is(rule->text.id, which);
}

static void keep_rules(struct rulebook *book, const char *which)
{
    size_t kept = 0;
    for (size_t i = 0; i < book->count; i++)
        if (is_wanted(&book->rules[i], which))
            book->rules[kept++] = book->rules[i];
    book->count = kept;
}

static void print_counts(const struct audit *audit, const struct rulebook *book)
{
    uint64_t runs = 0;
    for (size_t i = 0; i < audit->site_count; i++)
        runs += audit->sites[i].tests + audit->sites[i].controls;
    printf("rules %zu\nruns %" PRIu64 "\n", book->count, runs);
    for (size_t r = 0; r < book->count; r++) {
        uint64_t failing = 0;
        for (size_t i = 0; i < audit->rule_count; i++)
            if (audit->rules[i].rule == &book->rules[r].text)
                failing += audit->rules[i].judged - audit->rules[i].met;
        printf("%.*s %" PRIu64 "\n", TEXT_FORMAT(book->rules[r].text.id), failing);
    }
}

static bool judge(char **words, struct fault *fault)
{
    AUTO(rulebook) book = rulebook_new();
    AUTO(opened) opened = NULL;
    AUTO(store) store = NULL;
    AUTO(audit) audit = NULL;
    struct judge_wish wish = {.threads = strtoul(words[6], NULL, 10)};
    const char *why;
    if (!day_parse(text_of(words[3]), &wish.key.from, &why) || !day_parse(text_of(words[4]), &wish.key.to, &why))
        return fault_set(fault, FAULT_USAGE, "%s", why);
    wish.key.as_of = wish.key.to;
    if (!rulebook_add(book, words[2], "rules", fault) || !opened_read(&opened, words[1], fault) ||
        !store_open(&store, opened->folder->store_path, STORE_READ, fault))
        return false;
    keep_rules(book, words[5]);
    if (!opened_judge(opened, store, book, &wish, &audit, fault))
        return false;
    print_counts(audit, book);
    return true;
}

int main(int count, char **words)
{
    struct fault fault = {0};
    /* The bare walk alone would give its memory back after each site and be charged for it anew; with rules it stays. A
     * rule's time is the difference of the two. */
    mallopt(M_TRIM_THRESHOLD, 64 << 20);
    mallopt(M_MMAP_THRESHOLD, 16 << 20);
    if (count == 7 && judge(words, &fault))
        return 0;
    fprintf(stderr, "judge: %s\n", count == 7 ? fault.text : "FOLDER RULES FROM TO all|run|none|RULE THREADS");
    return 2;
}
