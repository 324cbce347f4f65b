/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <string.h>

#include "rulebook/host.h"

/* A sentence of `before` letters, then `times` the record "Zoë" of four bytes. */
static struct text sentence(struct arena *arena, size_t before, size_t times)
{
    struct rule rule = {.says_count = times + 1};
    struct streak streak = {0};
    struct finding finding = {.subject[SUBJECT_RECORD] = TEXT("Zo\xC3\xAB")};
    char *letters = arena_take(arena, before + 1);
    memset(letters, 'x', before);
    rule.says = arena_take(arena, rule.says_count * sizeof *rule.says);
    for (size_t i = 0; i <= times; i++)
        rule.says[i] = (struct says_part){.name = i < times ? TEXT("record") : (struct text){0}};
    rule.says[0].literal = (struct text){letters, before};
    return says_finding(&rule, &streak, &finding, arena);
}

Test(says, a_sentence_too_long_is_cut_before_a_whole_character)
{
    static const struct {
        size_t before, times, size;
        const char *end;
    } rows[] = {
        {10, 2, 18, "xZo\xC3\xABZo\xC3\xAB"},
        {SAYS_MOST - 4, 1, SAYS_MOST, "xZo\xC3\xAB"},
        {SAYS_MOST - 3, 1, SAYS_MOST, "x…"},
        {SAYS_MOST - 6, 2, SAYS_MOST - 1, "xZo…"}, /* 3,997 bytes would end within the ë */
        {SAYS_MOST - 7, 64, SAYS_MOST, "xZo\xC3\xAB…"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        AUTO(arena) arena = arena_new();
        struct text says = sentence(arena, rows[i].before, rows[i].times);
        cr_expect_eq(says.size, rows[i].size, "%zu: %zu", i, says.size);
        cr_expect(text_ends(says, rows[i].end), "%zu", i);
    }
}
