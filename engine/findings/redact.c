/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "findings/redact.h"

#include <ctype.h>
#include <string.h>

#include "base/output.h"

enum { FIGURES_LEAST = 5 }; /* of a number that is hidden wherever it stands: a shorter one may be any figure */

struct redaction {
    const struct site_settings *settings;
    struct names *specimens;
    size_t longest; /* of those ids */
};

static void add_specimen(struct redaction *redaction, struct text specimen)
{
    names_add(redaction->specimens, specimen);
    if (specimen.size > redaction->longest)
        redaction->longest = specimen.size;
}

struct redaction *redaction_new(const struct history *history)
{
    struct redaction *redaction = memory_new(sizeof *redaction);
    redaction->settings = history->settings;
    redaction->specimens = names_new();
    for (size_t i = 0; i < history->run_count; i++)
        if (!history->runs[i].is_control)
            add_specimen(redaction, run_specimen(&history->runs[i]));
    for (size_t i = 0; i < history->record_count[KIND_LOT_CHECKS]; i++)
        add_specimen(redaction, history->records[KIND_LOT_CHECKS][i].cells[COL(LOT_CHECKS, specimen)].text);
    return redaction;
}

static void add_stored(void *context, struct text specimen)
{
    struct redaction *redaction = context;
    add_specimen(redaction, specimen);
}

bool redaction_add_stored(struct redaction *redaction, struct store *store, struct fault *fault)
{
    return store_specimens(store, redaction->settings->site, add_stored, redaction, fault);
}

void redaction_free(struct redaction *redaction)
{
    if (redaction == NULL)
        return;
    names_free(redaction->specimens);
    memory_free(redaction);
}

struct text redacted(const struct redaction *redaction, struct text specimen, struct arena *arena)
{
    uint32_t name = names_find(redaction->specimens, specimen);
    return name == 0 ? specimen : text_print(arena, "specimen %u", name);
}

static bool is_of_word(char c) { return isalnum((unsigned char)c) || (unsigned char)c >= 0x80; }

static bool is_joint(char c) { return c == '.' || c == ':' || c == '/' || c == '-'; }

static bool has_letter(struct text text)
{
    for (size_t i = 0; i < text.size; i++)
        if (is_of_word(text.data[i]) && !isdigit((unsigned char)text.data[i]))
            return true;
    return false;
}

/* Whether text[from to end) is part of a longer number, date or time: specimen 5 is not the 5 of 5.4 or of 2026-10-5.
 */
static bool is_part(struct text text, size_t from, size_t end)
{
    const char *data = text.data;
    bool goes_before = (from > 0 && is_of_word(data[from - 1])) ||
                       (from > 1 && is_joint(data[from - 1]) && is_of_word(data[from - 2]));
    bool goes_on = (end < text.size && is_of_word(data[end])) ||
                   (end + 1 < text.size && is_joint(data[end]) && is_of_word(data[end + 1]));
    return goes_before || goes_on;
}

/* A text that is written anew, for what stands in it is replaced. */
struct rewriting {
    struct text old;
    size_t done; /* bytes of `old` */
    struct output *new;
};

static void replace(struct rewriting *rewriting, size_t from, size_t end, struct text instead)
{
    if (rewriting->new == NULL)
        rewriting->new = output_memory();
    output_bytes(rewriting->new, rewriting->old.data + rewriting->done, from - rewriting->done);
    output_text(rewriting->new, instead);
    rewriting->done = end;
}

/* The text itself if nothing was replaced. */
static struct text rewritten(struct rewriting *rewriting, struct arena *arena)
{
    if (rewriting->new == NULL)
        return rewriting->old;
    replace(rewriting, rewriting->old.size, rewriting->old.size, (struct text){0});
    struct text text = text_keep(arena, output_taken(rewriting->new));
    output_free(rewriting->new);
    return text;
}

/* `text` with each `old` in it replaced. One with a letter wherever it stands: too much hidden is better than too
 * little. */
static struct text replaced(struct text text, struct text old, struct text new, struct arena *arena)
{
    bool is_number = !has_letter(old);
    struct rewriting rewriting = {.old = text};
    for (size_t i = 0; i + old.size <= text.size; i++) {
        if (memcmp(text.data + i, old.data, old.size) != 0 || (is_number && is_part(text, i, i + old.size)))
            continue;
        replace(&rewriting, i, i + old.size, new);
        i += old.size - 1;
    }
    return rewritten(&rewriting, arena);
}

/* ---- words that are the specimen of somebody ---- */

/* NULL: the words are about no finding. */
static bool is_test(const struct finding *finding, struct text word)
{
    for (size_t i = 0; finding && i < finding->test_count; i++)
        if (text_equal(finding->tests[i]->test, word))
            return true;
    return false;
}

/* One that cannot well be anything else. */
static bool is_telling(struct text specimen) { return has_letter(specimen) || specimen.size >= FIGURES_LEAST; }

/* The longest telling specimen id that stands at text[from), whole. Absent if none does. A test's id is shown as such,
 * though its specimen may have the same. */
static struct text specimen_at(const struct redaction *redaction, const struct finding *finding, struct text text,
                               size_t from)
{
    struct text word = {text.data + from, text.size - from};
    if (word.size > redaction->longest)
        word.size = redaction->longest;
    for (; word.size > 0; word.size--) {
        size_t end = from + word.size;
        bool is_whole = end == text.size || !is_of_word(text.data[end]) || !is_of_word(text.data[end - 1]);
        if (is_whole && is_telling(word) && names_find(redaction->specimens, word) != 0 &&
            (has_letter(word) || !is_part(text, from, end)) && !is_test(finding, word))
            return word;
    }
    return (struct text){NULL, 0};
}

/* Rules write what they like into sentences and subjects. */
static struct text without_specimens(const struct redaction *redaction, const struct finding *finding, struct text text,
                                     struct arena *arena)
{
    struct rewriting rewriting = {.old = text};
    for (size_t i = 0; i < text.size; i++) {
        bool begins = i == 0 || !is_of_word(text.data[i - 1]) || !is_of_word(text.data[i]);
        struct text word = begins ? specimen_at(redaction, finding, text, i) : (struct text){NULL, 0};
        if (word.size == 0)
            continue;
        replace(&rewriting, i, i + word.size, redacted(redaction, word, arena));
        i += word.size - 1;
    }
    return rewritten(&rewriting, arena);
}

static void redact_words(const struct redaction *redaction, struct finding *finding, struct arena *arena)
{
    struct text *record = &finding->subject[SUBJECT_RECORD], *detail = &finding->subject[SUBJECT_DETAIL];
    finding->says = without_specimens(redaction, finding, finding->says, arena);
    *record = without_specimens(redaction, finding, *record, arena);
    *detail = without_specimens(redaction, finding, *detail, arena);
}

struct text redacted_words(const struct redaction *redaction, struct text words, struct arena *arena)
{
    return words.size > 0 ? without_specimens(redaction, NULL, words, arena) : words;
}

void redact_answers(const struct redaction *redaction, struct finding_answer *answers, size_t count,
                    struct arena *arena)
{
    for (size_t i = 0; i < count; i++) {
        answers[i].about = redacted_words(redaction, answers[i].about, arena);
        answers[i].problem = redacted_words(redaction, answers[i].problem, arena);
        answers[i].taken = redacted_words(redaction, answers[i].taken, arena);
        answers[i].finding = redacted_words(redaction, answers[i].finding, arena);
        answers[i].owner = redacted_words(redaction, answers[i].owner, arena);
        answers[i].verified_by = redacted_words(redaction, answers[i].verified_by, arena);
    }
}

void redact_reasons(const struct redaction *redaction, struct rule_at_site *rules, size_t count, struct arena *arena)
{
    for (size_t i = 0; i < count; i++)
        if (rules[i].state == RULE_OFF)
            rules[i].why = redacted_words(redaction, rules[i].why, arena);
}

/* ---- results ---- */

static bool is_word_of_method(const struct redaction *redaction, const struct affected_test *test)
{
    const struct method_settings *method = settings_method(redaction->settings, test->method);
    for (size_t i = 0; method && i < method->word_count; i++)
        if (text_equal(method->words[i], test->result))
            return true;
    return false;
}

/* Specimen and result may have been exchanged. */
static const struct affected_test *redacted_test(const struct redaction *redaction, const struct affected_test *shown,
                                                 struct arena *arena)
{
    struct affected_test *test = arena_take(arena, sizeof *test);
    *test = *shown;
    test->specimen = redacted(redaction, test->specimen, arena);
    if (is_telling(test->result) && !is_word_of_method(redaction, shown))
        test->result = redacted(redaction, test->result, arena);
    return test;
}

/* ---- findings ---- */

/* The specimen that the finding is about, if it is about one: what its rule told, the record itself, or the end of a
 * lot check's key. */
static struct text specimen_of(const struct redaction *redaction, const struct finding *finding)
{
    struct text record = finding->subject[SUBJECT_RECORD];
    if (finding->specimen.size > 0)
        return finding->specimen;
    if (finding->test_count > 0 && text_equal(record, finding->tests[0]->specimen))
        return record;
    if (!text_starts(record, "lot_checks "))
        return (struct text){NULL, 0};
    for (size_t i = 0; i < record.size; i++) {
        struct text end = {record.data + i + 1, record.size - i - 1};
        if (record.data[i] == ' ' && names_find(redaction->specimens, end) != 0)
            return end;
    }
    return (struct text){NULL, 0};
}

/* The specimen of a lot check that is gone may not be known, as in a store that was edited: all that stands behind the
 * time in its key is left out. */
static struct text without_key(struct text record, struct arena *arena)
{
    const size_t shown = strlen("lot_checks 2026-10-15 08:16");
    if (!text_starts(record, "lot_checks ") || record.size <= shown)
        return record;
    return text_print(arena, "%.*s (specimen hidden)", (int)shown, record.data);
}

/* "the key '2026-10-15 08:22 G1 GS-12 S-7' stands at …": what a refused lot check is told with. */
static struct text without_quoted_key(struct text says, struct arena *arena)
{
    static const char before[] = "the key '", after[] = "' stands at ";
    struct rewriting rewriting = {.old = says};
    for (size_t i = 0; i < says.size; i++) {
        if (!text_starts((struct text){says.data + i, says.size - i}, before))
            continue;
        size_t end = i + sizeof before - 1;
        while (end < says.size && !text_starts((struct text){says.data + end, says.size - end}, after))
            end++;
        if (end == says.size)
            break;
        replace(&rewriting, i, end + 1, TEXT("the key"));
        i = end;
    }
    return rewritten(&rewriting, arena);
}

/* Where no specimen is found, but a key may name one. */
static void redact_keys(struct finding *finding, struct arena *arena)
{
    struct text *record = &finding->subject[SUBJECT_RECORD], hidden = without_key(*record, arena);
    if (record->size == 0)
        return;
    if (hidden.data != record->data)
        finding->says = replaced(finding->says, *record, hidden, arena);
    *record = hidden;
    if (text_starts(*record, "records/lot_checks"))
        finding->says = without_quoted_key(finding->says, arena);
}

void redact_findings(const struct redaction *redaction, struct finding *findings, size_t count, struct arena *arena)
{
    for (size_t i = 0; i < count; i++) {
        struct finding *finding = &findings[i];
        struct text specimen = specimen_of(redaction, finding);
        if (specimen.size > 0) {
            struct text name = redacted(redaction, specimen, arena);
            finding->says = replaced(finding->says, specimen, name, arena);
            for (int field = 0; field < SUBJECT_COUNT; field++)
                if (field == SUBJECT_RECORD || field == SUBJECT_DETAIL || text_equal(finding->subject[field], specimen))
                    finding->subject[field] = replaced(finding->subject[field], specimen, name, arena);
        } else {
            redact_keys(finding, arena);
        }
        redact_words(redaction, finding, arena);
        finding->excuse = redacted_words(redaction, finding->excuse, arena);
    }
    for (size_t i = 0; i < count; i++)
        for (size_t t = 0; t < findings[i].test_count; t++)
            findings[i].tests[t] = redacted_test(redaction, findings[i].tests[t], arena);
}
