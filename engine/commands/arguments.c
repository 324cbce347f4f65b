/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands/arguments.h"

#include <assert.h>
#include <getopt.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

struct given {
    size_t row; /* of the table of options */
    const char *value;
};

struct arguments {
    const struct option_row *options;
    struct given *given; /* in order of the command line */
    size_t given_count, given_capacity;
    const char **words;
    size_t word_count, word_capacity;
    bool help;
};

static size_t row_count(const struct option_row *options)
{
    size_t count = 0;
    while (options[count].name != NULL)
        count++;
    return count;
}

/* getopt answers LONG_FIRST + row for a row of the table, 'h' for help. */
enum { LONG_FIRST = 256 };

static struct option *long_options(const struct option_row *options)
{
    size_t count = row_count(options);
    struct option *table = memory_new((count + 2) * sizeof *table);
    for (size_t i = 0; i < count; i++)
        table[i] = (struct option){options[i].name, options[i].value ? required_argument : no_argument, NULL,
                                   LONG_FIRST + (int)i};
    table[count] = (struct option){"help", no_argument, NULL, 'h'};
    return table;
}

static bool refuse_unknown(const struct option_row *options, const char *word, struct fault *fault)
{
    size_t count = row_count(options);
    const char **names = memory_new((count + 1) * sizeof *names);
    for (size_t i = 0; i < count; i++)
        names[i] = options[i].name;
    size_t dashes = strspn(word, "-");
    size_t size = strcspn(word + dashes, "=");
    const char *nearest = text_nearest((struct text){word + dashes, size}, names);
    memory_free(names);
    if (nearest != NULL)
        return fault_set(fault, FAULT_USAGE, "unknown option %s, did you mean --%s?", word, nearest);
    return fault_set(fault, FAULT_USAGE, "unknown option %s", word);
}

static bool keep_option(struct arguments *arguments, size_t row, const char *value, struct fault *fault)
{
    const struct option_row *option = &arguments->options[row];
    if (!option->repeats && argument_count(arguments, option->name) > 0)
        return fault_set(fault, FAULT_USAGE, "--%s is given twice", option->name);
    VECTOR_GROW(arguments->given, arguments->given_count, arguments->given_capacity);
    arguments->given[arguments->given_count++] = (struct given){row, value};
    return true;
}

static void keep_word(struct arguments *arguments, const char *word)
{
    VECTOR_GROW(arguments->words, arguments->word_count, arguments->word_capacity);
    arguments->words[arguments->word_count++] = word;
}

/* What getopt answers '?' to: optopt is the short option, or what the table has for a long one, or 0. */
static bool refuse_option(const struct arguments *arguments, const char *word, struct fault *fault)
{
    if (optopt >= LONG_FIRST)
        return fault_set(fault, FAULT_USAGE, "--%s takes no value", arguments->options[optopt - LONG_FIRST].name);
    if (optopt == 'h')
        return fault_set(fault, FAULT_USAGE, "--help takes no value");
    if (optopt != 0)
        return fault_set(fault, FAULT_USAGE, "unknown option -%c", optopt);
    return refuse_unknown(arguments->options, word, fault);
}

/* One answer of getopt, where 1 stands for a word that is no option. */
static bool take(struct arguments *arguments, int answer, const char *word, struct fault *fault)
{
    if (answer == '?')
        return refuse_option(arguments, word, fault);
    if (answer == ':')
        return fault_set(fault, FAULT_USAGE, "%s needs a value", word);
    if (answer >= LONG_FIRST)
        return keep_option(arguments, (size_t)answer - LONG_FIRST, optarg, fault);
    if (answer == 'h')
        arguments->help = true;
    else
        keep_word(arguments, optarg);
    return true;
}

static bool read_all(struct arguments *arguments, int argc, char **argv, struct fault *fault)
{
    struct option *table = long_options(arguments->options);
    bool good = true;
    optind = 0; /* glibc: start anew */
    opterr = 0;
    for (int answer; good && (answer = getopt_long(argc, argv, "-:h", table, NULL)) != -1;)
        good = take(arguments, answer, argv[optind > 0 ? optind - 1 : 0], fault);
    for (int i = optind; good && i < argc; i++) /* behind a "--" */
        keep_word(arguments, argv[i]);
    memory_free(table);
    return good;
}

bool arguments_read(struct arguments **out, const struct option_row *options, int argc, char **argv,
                    struct fault *fault)
{
    struct arguments *arguments = memory_new(sizeof *arguments);
    arguments->options = options;
    if (!read_all(arguments, argc, argv, fault)) {
        arguments_free(arguments);
        return false;
    }
    *out = arguments;
    return true;
}

void arguments_free(struct arguments *arguments)
{
    if (arguments == NULL)
        return;
    memory_free(arguments->given);
    memory_free(arguments->words);
    memory_free(arguments);
}

bool argument_help(const struct arguments *arguments) { return arguments->help; }

static size_t row_of(const struct arguments *arguments, const char *option)
{
    size_t row = 0;
    while (arguments->options[row].name != NULL && strcmp(arguments->options[row].name, option) != 0)
        row++;
    assert(arguments->options[row].name != NULL);
    return row;
}

size_t argument_count(const struct arguments *arguments, const char *option)
{
    size_t row = row_of(arguments, option), count = 0;
    for (size_t i = 0; i < arguments->given_count; i++)
        count += arguments->given[i].row == row;
    return count;
}

const char *argument_at(const struct arguments *arguments, const char *option, size_t index)
{
    size_t row = row_of(arguments, option);
    for (size_t i = 0; i < arguments->given_count; i++)
        if (arguments->given[i].row == row && index-- == 0)
            return arguments->given[i].value;
    return NULL;
}

const char *argument_text(const struct arguments *arguments, const char *option)
{
    return argument_at(arguments, option, 0);
}

bool argument_flag(const struct arguments *arguments, const char *option)
{
    return argument_count(arguments, option) > 0;
}

size_t argument_word_count(const struct arguments *arguments) { return arguments->word_count; }

const char *argument_word(const struct arguments *arguments, size_t index)
{
    return index < arguments->word_count ? arguments->words[index] : NULL;
}

static bool refuse_value(const char *option, const char *value, const char *why, struct fault *fault)
{
    return fault_set(fault, FAULT_USAGE, "--%s: %s: %s", option, value, why);
}

bool argument_day(const struct arguments *arguments, const char *option, day_number *out, struct fault *fault)
{
    const char *value = argument_text(arguments, option), *why;
    if (value == NULL || day_parse(text_of(value), out, &why))
        return true;
    return refuse_value(option, value, why, fault);
}

bool argument_month(const struct arguments *arguments, const char *option, day_number *first, day_number *last,
                    struct fault *fault)
{
    static const char first_day[] = "-01";
    char day[DAY_TEXT_SIZE];
    const char *value = argument_text(arguments, option), *why;
    if (value == NULL)
        return true;
    if (strlen(value) != DAY_TEXT_SIZE - sizeof first_day)
        return refuse_value(option, value, "expected YYYY-MM", fault);
    strcpy(day, value);
    strcat(day, first_day);
    if (!day_parse(text_of(day), first, &why))
        return refuse_value(option, value, text_starts(text_of(why), "expected") ? "expected YYYY-MM" : why, fault);
    *last = day_add_months(*first, 1) - 1;
    return true;
}

bool argument_choice(const struct arguments *arguments, const char *option, const char *const *words, size_t *out,
                     struct fault *fault)
{
    const char *value = argument_text(arguments, option);
    if (value == NULL)
        return true;
    for (size_t i = 0; words[i] != NULL; i++)
        if (strcmp(words[i], value) == 0) {
            *out = i;
            return true;
        }
    AUTO(arena) arena = arena_new();
    struct text known = text_of(words[0]);
    for (size_t i = 1; words[i] != NULL; i++)
        known = text_print(arena, "%.*s%s%s", TEXT_FORMAT(known), words[i + 1] ? ", " : " or ", words[i]);
    return refuse_value(option, value, text_print(arena, "expected %.*s", TEXT_FORMAT(known)).data, fault);
}

bool argument_whole(const struct arguments *arguments, const char *option, uint64_t *out, struct fault *fault)
{
    const char *value = argument_text(arguments, option);
    if (value == NULL)
        return true;
    size_t size = strlen(value);
    if (size == 0 || size > 18 || strspn(value, "0123456789") != size)
        return refuse_value(option, value, "expected a whole number of at most 18 digits", fault);
    *out = strtoumax(value, NULL, 10);
    return true;
}

bool argument_share(const struct arguments *arguments, const char *option, double *out, struct fault *fault)
{
    const char *value = argument_text(arguments, option);
    if (value == NULL)
        return true;
    char *end;
    double number = strtod(value, &end);
    bool plain = end != value && *end == '\0' && strspn(value, "0123456789.") == strlen(value);
    if (!plain || number <= 0 || number >= 1)
        return refuse_value(option, value, "expected a number above 0 and below 1", fault);
    *out = number;
    return true;
}
