/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "findings/redact.h"

#include <ctype.h>
#include <string.h>

struct redaction {
    struct names *specimens;
};

struct redaction *redaction_new(const struct history *history)
{
    struct redaction *redaction = memory_new(sizeof *redaction);
    redaction->specimens = names_new();
    for (size_t i = 0; i < history->run_count; i++)
        if (!history->runs[i].is_control)
            names_add(redaction->specimens, run_specimen(&history->runs[i]));
    for (size_t i = 0; i < history->record_count[KIND_LOT_CHECKS]; i++)
        names_add(redaction->specimens, history->records[KIND_LOT_CHECKS][i].cells[COL(LOT_CHECKS, specimen)].text);
    return redaction;
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

/* `text` with each `old` in it replaced. One with a letter wherever it stands: too much hidden is better than too
 * little. */
static struct text replaced(struct text text, struct text old, struct text new, struct arena *arena)
{
    bool is_number = !has_letter(old);
    struct text before = {text.data, 0}, done = {"", 0};
    for (size_t i = 0; i + old.size <= text.size; i++) {
        if (memcmp(text.data + i, old.data, old.size) != 0 || (is_number && is_part(text, i, i + old.size)))
            continue;
        before.size = (size_t)(text.data + i - before.data);
        done = text_print(arena, "%.*s%.*s%.*s", TEXT_FORMAT(done), TEXT_FORMAT(before), TEXT_FORMAT(new));
        before.data = text.data + i + old.size;
        i += old.size - 1;
    }
    before.size = (size_t)(text.data + text.size - before.data);
    return text_print(arena, "%.*s%.*s", TEXT_FORMAT(done), TEXT_FORMAT(before));
}

/* The specimen that the finding is about, if it is about one: the record itself, or the end of a lot check's key. */
static struct text specimen_of(const struct redaction *redaction, const struct finding *finding)
{
    struct text record = finding->subject[SUBJECT_RECORD];
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

/* The specimen of a lot check that is gone is not known: all that stands behind the time in its key is left out. */
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
    struct text done = {"", 0};
    for (size_t i = 0; i < says.size; i++) {
        struct text rest = {says.data + i, says.size - i};
        size_t end = sizeof before - 1;
        while (text_starts(rest, before) && end < rest.size &&
               !text_starts((struct text){rest.data + end, rest.size - end}, after))
            end++;
        bool hides = text_starts(rest, before) && end < rest.size;
        done = text_print(arena, "%.*s%s%.*s", TEXT_FORMAT(done), hides ? "the key" : "", hides ? 0 : 1, rest.data);
        i += hides ? end : 0;
    }
    return done;
}

/* Where no specimen is known, but a key may name one. */
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
            struct text *record = &finding->subject[SUBJECT_RECORD];
            finding->says = replaced(finding->says, specimen, name, arena);
            *record = replaced(*record, specimen, name, arena);
        } else {
            redact_keys(finding, arena);
        }
    }
    for (size_t i = 0; i < count; i++)
        for (size_t t = 0; t < findings[i].test_count; t++) {
            struct affected_test *test = arena_take(arena, sizeof *test);
            *test = *findings[i].tests[t];
            test->specimen = redacted(redaction, test->specimen, arena);
            findings[i].tests[t] = test;
        }
}
