/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/affected.h"

#include <inttypes.h>

#include "reports/phrases.h"

enum {
    FOLD_TESTS = 30,     /* a longer table of results is folded */
    MOST_TESTS = 1000,   /* a page lists no more of them: nobody would read on, and it must stay usable */
    MOST_IN_ALL = 10000, /* of all findings together; some 200 pages of paper */
    FEW_TESTS = 5,       /* of each finding beyond that */
};

static struct text test_of(const struct affected_test *test) { return test->test; }
static struct text performed_of(const struct affected_test *test) { return test->performed_at; }
static struct text specimen_of(const struct affected_test *test) { return test->specimen; }
static struct text analyzer_of(const struct affected_test *test) { return test->analyzer; }
static struct text method_of(const struct affected_test *test) { return test->method; }
static struct text operator_of(const struct affected_test *test) { return test->operator_; }
static struct text result_of(const struct affected_test *test) { return test->result; }
static struct text file_of(const struct affected_test *test) { return test->place.file; }

/* A column that says the same in all rows is named in the caption instead, if it has words for that. */
static const struct test_column {
    const char *title, *in_caption;
    struct text (*value)(const struct affected_test *test);
} test_columns[] = {
    {"Test", NULL, test_of},          {"Performed at", NULL, performed_of},
    {"Specimen", NULL, specimen_of},  {"Analyzer", "analyzer ", analyzer_of},
    {"Method", "method ", method_of}, {"Operator", "operator ", operator_of},
    {"Result", NULL, result_of},      {"File", "", file_of},
};
enum { TEST_COLUMNS = sizeof test_columns / sizeof *test_columns };

static bool same_in_all(const struct finding *finding, const struct test_column *column)
{
    struct text first = column->value(finding->tests[0]);
    for (size_t i = 1; i < finding->test_count; i++)
        if (!text_equal(column->value(finding->tests[i]), first))
            return false;
    return true;
}

/* Fills `shown`, and the caption: "14 affected results: analyzer A1, method glucose, records/tests.csv". */
static struct text choose_columns(struct arena *arena, const struct finding *finding, const struct test_column **shown,
                                  size_t *count)
{
    struct text caption = phrase_count(arena, finding->test_count, "affected result", "affected results");
    const char *before = ": ";
    for (size_t i = 0; i < TEST_COLUMNS; i++) {
        const struct test_column *column = &test_columns[i];
        if (column->in_caption == NULL || !same_in_all(finding, column)) {
            shown[(*count)++] = column;
            continue;
        }
        struct text value = column->value(finding->tests[0]);
        if (value.size == 0)
            continue;
        caption =
            text_print(arena, "%.*s%s%s%.*s", TEXT_FORMAT(caption), before, column->in_caption, TEXT_FORMAT(value));
        before = ", ";
    }
    return caption;
}

static size_t how_many(const struct document *document, const struct finding *finding)
{
    size_t left = document->affected_rows < MOST_IN_ALL ? MOST_IN_ALL - document->affected_rows : 0;
    size_t most = left < FEW_TESTS ? FEW_TESTS : left < MOST_TESTS ? left : MOST_TESTS;
    return finding->test_count < most ? finding->test_count : most;
}

void document_affected(struct document *document, const struct finding *finding)
{
    if (finding->test_count == 0)
        return;
    const struct test_column *shown[TEST_COLUMNS];
    size_t count = 0;
    struct text caption = choose_columns(document->arena, finding, shown, &count);
    struct table_column *columns = arena_take(document->arena, (count + 1) * sizeof *columns);
    for (size_t i = 0; i < count; i++)
        columns[i] = (struct table_column){.title = shown[i]->title, .is_head = i == 0};
    columns[count] = (struct table_column){.title = "Line", .is_number = true};

    struct node *table = document_table(document, caption, columns, count + 1);
    table->folded = finding->test_count > FOLD_TESTS;
    size_t listed = how_many(document, finding);
    document->affected_rows += listed;
    for (size_t row = 0; row < listed; row++) {
        document_row(document);
        for (size_t i = 0; i < count; i++)
            document_cell(document, shown[i]->value(finding->tests[row]));
        document_cell(document, text_print(document->arena, "%" PRIu32, finding->tests[row]->place.line));
        document_close(document);
    }
    document_close(document);
    if (listed < finding->test_count)
        document_say(document, ROLE_SMALL,
                     text_print(document->arena,
                                "The first %.*s are listed here; all are in findings.csv and findings.json.",
                                TEXT_FORMAT(phrase_count(document->arena, listed, "result", "results"))));
}
