/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>

#include "commands/arguments.h"

static const struct option_row options[] = {
    {"month", "YYYY-MM", "the month to audit", false}, {"today", "D", "the day of the load", false},
    {"format", "FORMAT", "text or json", false},       {"seed", "N", "the first number of the draw", false},
    {"confidence", "C", "of the sample", false},       {"rules", "DIR", "a further rule folder", true},
    {"redact", NULL, "leave specimens out", false},    {NULL},
};

enum { WORDS_MOST = 12 };

static struct arguments *read_line(char *const *line, struct fault *fault)
{
    char *argv[WORDS_MOST + 1];
    int argc = 0;
    for (; line[argc] != NULL; argc++)
        argv[argc] = line[argc];
    argv[argc] = NULL;
    struct arguments *arguments = NULL;
    arguments_read(&arguments, options, argc, argv, fault);
    return arguments;
}

#define READ(fault, ...) read_line((char *const[]){"audit", __VA_ARGS__, NULL}, fault)

Test(arguments, options_stand_before_or_after_the_words)
{
    struct fault fault = {.code = FAULT_NONE};
    AUTO(arguments) arguments = READ(&fault, "--month", "2026-10", "clinic", "--redact", "other", "--", "--seed");
    cr_assert_not_null(arguments, "%s", fault.text);
    cr_expect_str_eq(argument_text(arguments, "month"), "2026-10");
    cr_expect(argument_flag(arguments, "redact"));
    cr_expect_not(argument_flag(arguments, "seed"));
    cr_expect_null(argument_text(arguments, "today"));
    cr_expect_eq(argument_word_count(arguments), 3);
    cr_expect_str_eq(argument_word(arguments, 0), "clinic");
    cr_expect_str_eq(argument_word(arguments, 1), "other");
    cr_expect_str_eq(argument_word(arguments, 2), "--seed");
    cr_expect_null(argument_word(arguments, 3));
    cr_expect_not(argument_help(arguments));
}

Test(arguments, a_repeated_option_keeps_all_its_values)
{
    AUTO(arguments) arguments = READ(NULL, "--rules=own", "clinic", "--rules", "more", "--rules=");
    cr_assert_not_null(arguments);
    cr_expect_eq(argument_count(arguments, "rules"), 3);
    cr_expect_str_eq(argument_at(arguments, "rules", 0), "own");
    cr_expect_str_eq(argument_at(arguments, "rules", 1), "more");
    cr_expect_str_eq(argument_at(arguments, "rules", 2), "");
    cr_expect_null(argument_at(arguments, "rules", 3));
}

Test(arguments, help_is_known_to_every_command)
{
    AUTO(arguments) long_form = READ(NULL, "--help");
    AUTO(arguments) short_form = READ(NULL, "clinic", "-h");
    cr_expect(argument_help(long_form));
    cr_expect(argument_help(short_form));
}

Test(arguments, a_wrong_command_line_is_refused_with_its_reason)
{
    static char *const lines[][4] = {
        {"audit", "--mnth", "2026-10"},
        {"audit", "--mnth=2026-10"},
        {"audit", "clinic", "--humidity"},
        {"audit", "--month"},
        {"audit", "--redact=yes"},
        {"audit", "--help=yes"},
        {"audit", "clinic", "-x"},
        {"audit", "--seed=1", "--seed", "1"},
        {"audit", "-xy"},
    };
    static const char *const reasons[] = {
        "unknown option --mnth, did you mean --month?",
        "unknown option --mnth=2026-10, did you mean --month?",
        "unknown option --humidity",
        "--month needs a value",
        "--redact takes no value",
        "--help takes no value",
        "unknown option -x",
        "--seed is given twice",
        "unknown option -x",
    };
    for (size_t i = 0; i < sizeof reasons / sizeof *reasons; i++) {
        char *line[5] = {lines[i][0], lines[i][1], lines[i][2], lines[i][3], NULL};
        struct fault fault = {.code = FAULT_NONE};
        AUTO(arguments) arguments = read_line(line, &fault);
        cr_expect_null(arguments);
        cr_expect_eq(fault.code, FAULT_USAGE);
        cr_expect_str_eq(fault.text, reasons[i]);
    }
}

Test(arguments, values_of_a_type_are_read)
{
    struct fault fault = {.code = FAULT_NONE};
    AUTO(arguments)
    arguments = READ(&fault, "--month=2028-02", "--today=2026-11-02", "--format=json", "--seed=123456789012345678",
                     "--confidence=.95");
    cr_assert_not_null(arguments);
    day_number first = 0, last = 0, today = 0, expected;
    size_t format = 9;
    uint64_t seed = 0;
    double confidence = 0;
    cr_expect(argument_month(arguments, "month", &first, &last, &fault));
    cr_expect(day_from_civil((struct civil){2028, 2, 1}, &expected) && first == expected);
    cr_expect_eq(last, first + 28);
    cr_expect(argument_day(arguments, "today", &today, &fault));
    cr_expect(day_from_civil((struct civil){2026, 11, 2}, &expected) && today == expected);
    cr_expect(argument_choice(arguments, "format", (const char *const[]){"text", "json", NULL}, &format, &fault));
    cr_expect_eq(format, 1);
    cr_expect(argument_whole(arguments, "seed", &seed, &fault));
    cr_expect_eq(seed, 123456789012345678u);
    cr_expect(argument_share(arguments, "confidence", &confidence, &fault));
    cr_expect_eq(confidence, 0.95);
}

Test(arguments, values_that_are_not_given_stay_as_they_are)
{
    struct fault fault = {.code = FAULT_NONE};
    AUTO(arguments) arguments = READ(&fault, "clinic");
    day_number first = 1, last = 2, today = 3;
    size_t format = 4;
    uint64_t seed = 5;
    double confidence = 0.6;
    cr_expect(argument_month(arguments, "month", &first, &last, &fault));
    cr_expect(argument_day(arguments, "today", &today, &fault));
    cr_expect(argument_choice(arguments, "format", (const char *const[]){"text", NULL}, &format, &fault));
    cr_expect(argument_whole(arguments, "seed", &seed, &fault));
    cr_expect(argument_share(arguments, "confidence", &confidence, &fault));
    cr_expect(first == 1 && last == 2 && today == 3 && format == 4 && seed == 5 && confidence == 0.6);
}

static bool take_value(const struct arguments *arguments, const char *option, struct fault *fault)
{
    day_number first, last;
    size_t choice;
    uint64_t whole;
    double share;
    switch (*option) {
    case 'm':
        return argument_month(arguments, option, &first, &last, fault);
    case 't':
        return argument_day(arguments, option, &first, fault);
    case 'f':
        return argument_choice(arguments, option, (const char *const[]){"text", "csv", "json", NULL}, &choice, fault);
    case 's':
        return argument_whole(arguments, option, &whole, fault);
    default:
        return argument_share(arguments, option, &share, fault);
    }
}

Test(arguments, values_that_are_of_no_type_are_refused_with_their_reason)
{
    static const struct {
        char *option, *value, *reason;
    } rows[] = {
        {"month", "2026-13", "--month: 2026-13: not a real calendar date"},
        {"month", "2026-1", "--month: 2026-1: expected YYYY-MM"},
        {"month", "2026-10-01", "--month: 2026-10-01: expected YYYY-MM"},
        {"month", "October", "--month: October: expected YYYY-MM"},
        {"today", "2026-02-30", "--today: 2026-02-30: not a real calendar date"},
        {"today", "", "--today: : expected YYYY-MM-DD"},
        {"format", "xml", "--format: xml: expected text, csv or json"},
        {"seed", "-1", "--seed: -1: expected a whole number of at most 18 digits"},
        {"seed", "", "--seed: : expected a whole number of at most 18 digits"},
        {"seed", "1234567890123456789", "--seed: 1234567890123456789: expected a whole number of at most 18 digits"},
        {"confidence", "1", "--confidence: 1: expected a number above 0 and below 1"},
        {"confidence", "0", "--confidence: 0: expected a number above 0 and below 1"},
        {"confidence", ".", "--confidence: .: expected a number above 0 and below 1"},
        {"confidence", "1e-1", "--confidence: 1e-1: expected a number above 0 and below 1"},
        {"confidence", "0.5.5", "--confidence: 0.5.5: expected a number above 0 and below 1"},
        {"confidence", "nan", "--confidence: nan: expected a number above 0 and below 1"},
        {"confidence", " .5", "--confidence:  .5: expected a number above 0 and below 1"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct fault fault = {.code = FAULT_NONE};
        char option[64];
        snprintf(option, sizeof option, "--%s", rows[i].option);
        AUTO(arguments) arguments = READ(&fault, option, rows[i].value);
        cr_assert_not_null(arguments);
        cr_expect_not(take_value(arguments, rows[i].option, &fault), "%s", rows[i].reason);
        cr_expect_str_eq(fault.text, rows[i].reason, "%s", fault.text);
    }
}
