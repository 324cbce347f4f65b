/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lets the checks of this folder call functions of the engine: reads lines `function argument…`, writes a line of
 * answers for each. Numbers are printed with all their digits; a list is its count and then its numbers; bytes are in
 * hex, with a dash for none. */
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/calendar.h"
#include "base/digest.h"
#include "base/memory.h"
#include "intake/csv.h"
#include "records/decimal.h"
#include "stats/descriptive.h"
#include "stats/intervals.h"
#include "stats/multirule.h"
#include "stats/regression.h"
#include "stats/robust.h"
#include "stats/sampling.h"
#include "stats/sigma.h"
#include "stats/tails.h"

/* ---- arguments and answers ---- */

static char *rest; /* of the line that is being answered */

static char *word(void)
{
    char *found = strtok_r(NULL, " \n", &rest);
    if (found == NULL) {
        fputs("driver: an argument is missing\n", stderr);
        exit(2);
    }
    return found;
}

static double number(void) { return strtod(word(), NULL); }

static uint64_t whole(void) { return strtoull(word(), NULL, 10); }

struct list {
    double *numbers;
    size_t count;
};

static struct list list_of(size_t count)
{
    struct list list = {memory_new((count + 1) * sizeof(double)), count};
    for (size_t i = 0; i < count; i++)
        list.numbers[i] = number();
    return list;
}

static struct list list(void) { return list_of(whole()); }

static void say(double value) { printf("%.17g ", value); }

static void say_interval(struct interval interval)
{
    say(interval.low);
    say(interval.high);
}

/* ---- statistics ---- */

static void do_summary(void)
{
    struct list xs = list();
    struct summary found = summary_of(xs.numbers, xs.count);
    say(found.mean);
    say(found.sd);
    say(found.squares);
    say(median_of(xs.numbers, xs.count));
    memory_free(xs.numbers);
}

static void do_normal_lower(void) { say(normal_lower(number())); }
static void do_normal_upper(void) { say(normal_upper(number())); }
static void do_normal_quantile(void) { say(normal_quantile(number())); }

/* Calls a function of two, three or four numbers; C leaves the order of arguments open, so they are read before. */
static void two(double (*function)(double, double))
{
    double a = number(), b = number();
    say(function(a, b));
}

static void three(double (*function)(double, double, double))
{
    double a = number(), b = number(), c = number();
    say(function(a, b, c));
}

static void do_student_quantile(void) { two(student_quantile); }
static void do_chi_square_lower(void) { two(chi_square_lower); }
static void do_chi_square_upper(void) { two(chi_square_upper); }
static void do_beta_lower(void) { three(beta_lower); }
static void do_binomial_lower(void) { three(binomial_lower); }

static void do_miss_probability(void)
{
    double allowable = number(), bias = number(), sd = number(), shift = number();
    say(miss_probability(allowable, bias, sd, shift));
}

static void do_wilson(void)
{
    uint64_t count = whole(), total = whole();
    double confidence = number();
    say_interval(wilson_interval_at(count, total, confidence));
    say_interval(wilson_interval(count, total));
}

static void do_clopper_pearson(void)
{
    uint64_t count = whole(), total = whole();
    double confidence = number();
    say_interval(clopper_pearson_interval(count, total, confidence));
}

static void do_funnel(void)
{
    double share = number();
    uint64_t total = whole();
    double tail = number();
    say_interval(funnel_limits(share, total, tail));
}

static void do_sampling(void)
{
    uint64_t total = whole(), bad = whole(), sample = whole();
    double confidence = number();
    say(chance_of_none(total, bad, sample));
    say((double)discovery_sample(total, bad, confidence));
}

static void mann_whitney(struct mann_whitney (*function)(const double *, size_t, const double *, size_t))
{
    struct list first = list(), second = list();
    struct mann_whitney found = function(first.numbers, first.count, second.numbers, second.count);
    say(found.u);
    say(found.p);
    memory_free(first.numbers);
    memory_free(second.numbers);
}

static void do_mann_whitney_normal(void) { mann_whitney(mann_whitney_normal); }
static void do_mann_whitney_exact(void) { mann_whitney(mann_whitney_exact); }

static void do_deming(void)
{
    double lambda = number();
    struct list x = list(), y = list();
    struct line found = deming(x.numbers, y.numbers, x.count, lambda);
    say(found.slope);
    say(found.intercept);
    memory_free(x.numbers);
    memory_free(y.numbers);
}

static void do_passing_bablok(void)
{
    double confidence = number();
    struct list x = list(), y = list();
    struct passing_bablok found = passing_bablok(x.numbers, y.numbers, x.count, confidence);
    say(found.line.slope);
    say(found.line.intercept);
    say_interval(found.slope);
    say_interval(found.intercept);
    memory_free(x.numbers);
    memory_free(y.numbers);
}

static void do_bland_altman(void)
{
    double multiple = number(), confidence = number();
    struct list x = list(), y = list();
    struct agreement found = bland_altman(x.numbers, y.numbers, x.count, multiple, confidence);
    say(found.bias);
    say(found.sd);
    say_interval(found.limits);
    say_interval(found.bias_interval);
    say_interval(found.low_interval);
    say_interval(found.high_interval);
    memory_free(x.numbers);
    memory_free(y.numbers);
}

static void do_algorithm_a(void)
{
    struct list xs = list();
    struct robust found = algorithm_a(xs.numbers, xs.count, ALGORITHM_A_CONVERGED);
    say(found.mean);
    say(found.sd);
    memory_free(xs.numbers);
}

/* ---- multirule ---- */

static pattern_set patterns(char *names)
{
    pattern_set chosen = 0;
    char *left = NULL;
    for (char *name = strtok_r(names, ",", &left); name != NULL; name = strtok_r(NULL, ",", &left)) {
        enum pattern pattern;
        if (!pattern_named(text_of(name), &pattern))
            exit(2);
        chosen |= PATTERN_BIT(pattern);
    }
    return chosen;
}

/* levels, patterns, count, then level day lot z for each control: answers control:pattern:form:first:begins for each
 * hit */
static void do_multirule(void)
{
    uint32_t levels = (uint32_t)whole();
    pattern_set chosen = patterns(word());
    size_t count = whole();
    struct multirule_control *controls = memory_new((count + 1) * sizeof *controls);
    for (size_t i = 0; i < count; i++) {
        controls[i].level = (uint32_t)whole();
        controls[i].day = (day_number)whole();
        controls[i].lot = (uint32_t)whole();
        controls[i].z = number();
    }
    AUTO(multirule) found = multirule_evaluate(controls, count, levels, chosen);
    for (size_t i = 0; i < found->hit_count; i++) {
        const struct multirule_hit *hit = &found->hits[i];
        printf("%u:%s:%s:%u:%d ", hit->control, pattern_name(hit->pattern), hit->across ? "across" : "within",
               hit->first, hit->begins);
    }
    memory_free(controls);
}

static gsl_rng *seeded(uint64_t seed)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(random, seed);
    return random;
}

/* patterns, shift, runs, seed: mean and SD of how many controls of one level it takes until a pattern shows */
static void do_run_length(void)
{
    pattern_set chosen = patterns(word());
    double shift = number();
    size_t runs = whole();
    gsl_rng *random = seeded(whole());
    double *lengths = memory_new(runs * sizeof *lengths);
    for (size_t i = 0; i < runs; i++) {
        struct multirule_series series = {0};
        do
            lengths[i]++;
        while (!(multirule_add(&series, shift + gsl_ran_gaussian_ziggurat(random, 1)) & chosen));
    }
    struct summary found = summary_of(lengths, runs);
    say(found.mean);
    say(found.sd);
    memory_free(lengths);
    gsl_rng_free(random);
}

/* patterns, levels (up to 4), shift, spread, runs, seed: the share of single sets that complete a pattern */
static void do_rejected(void)
{
    pattern_set chosen = patterns(word());
    uint32_t levels = (uint32_t)whole();
    double shift = number(), spread = number(), rejected = 0;
    size_t runs = whole();
    gsl_rng *random = seeded(whole());
    for (size_t i = 0; i < runs; i++) {
        struct multirule_series chain = {0};
        pattern_set completed = 0;
        double z[4];
        for (uint32_t level = 0; level < levels; level++) {
            struct multirule_series series = {0};
            z[level] = shift + spread * gsl_ran_gaussian_ziggurat(random, 1);
            completed |= multirule_add(&series, z[level]);
        }
        completed |= multirule_add_set(&chain, z, levels, levels);
        rejected += (completed & chosen) != 0;
    }
    say(rejected / (double)runs);
    gsl_rng_free(random);
}

/* ---- calendar, numerals, digests, CSV ---- */

static void do_day(void)
{
    day_number day;
    char printed[DAY_TEXT_SIZE] = "none";
    if (!day_parse(text_of(word()), &day, NULL)) {
        printf("refused");
        return;
    }
    day_print(day, printed);
    printf("%d %d %s", day, day_of_week(day), printed);
}

static void do_add_months(void)
{
    day_number day = (day_number)whole();
    char printed[DAY_TEXT_SIZE];
    day_print(day_add_months(day, atoi(word())), printed);
    printf("%s", printed);
}

static void do_decimal_compare(void)
{
    struct text a = text_of(word()), b = text_of(word());
    printf("%d", decimal_compare(a, b));
}

static void do_decimal_double(void) { say(decimal_double(text_of(word()))); }

static void do_decimal_valid(void) { printf("%d", decimal_valid(text_of(word()))); }

static size_t from_hex(char *hex) /* in place */
{
    if (hex[0] == '-')
        return 0;
    size_t size = strlen(hex) / 2;
    for (size_t i = 0; i < size; i++) {
        char pair[3] = {hex[2 * i], hex[2 * i + 1], '\0'};
        hex[i] = (char)strtoul(pair, NULL, 16);
    }
    return size;
}

static void do_sha256(void)
{
    unsigned char digest[DIGEST_SIZE];
    char hex[DIGEST_HEX_SIZE], base32[11], *bytes = word();
    digest_of(bytes, from_hex(bytes), digest);
    digest_hex(digest, hex);
    digest_base32(digest, base32);
    printf("%s %s", hex, base32);
}

/* a file in hex: answers line:cell,cell,… for each row, cells in hex */
static void do_csv(void)
{
    char *bytes = word();
    struct csv_reader reader;
    uint32_t line = 0;
    csv_start(&reader, bytes, from_hex(bytes));
    enum csv_row row;
    while ((row = csv_next(&reader, &line)) == CSV_ROW) {
        printf("%u:", line);
        for (size_t i = 0; i < reader.cell_count; i++) {
            printf(i > 0 ? "," : "");
            for (size_t k = 0; k < reader.cells[i].size; k++)
                printf("%02x", (unsigned char)reader.cells[i].data[k]);
        }
        printf(" ");
    }
    printf(row == CSV_END ? "end" : "bad");
    csv_stop(&reader);
}

/* ---- which function ---- */

#define FUNCTION(name)   \
    {                    \
#name, do_##name \
    }
static const struct {
    const char *name;
    void (*call)(void);
} functions[] = {
    FUNCTION(summary),
    FUNCTION(normal_lower),
    FUNCTION(normal_upper),
    FUNCTION(normal_quantile),
    FUNCTION(student_quantile),
    FUNCTION(chi_square_lower),
    FUNCTION(chi_square_upper),
    FUNCTION(beta_lower),
    FUNCTION(binomial_lower),
    FUNCTION(miss_probability),
    FUNCTION(wilson),
    FUNCTION(clopper_pearson),
    FUNCTION(funnel),
    FUNCTION(sampling),
    FUNCTION(mann_whitney_normal),
    FUNCTION(mann_whitney_exact),
    FUNCTION(deming),
    FUNCTION(passing_bablok),
    FUNCTION(bland_altman),
    FUNCTION(algorithm_a),
    FUNCTION(multirule),
    FUNCTION(run_length),
    FUNCTION(rejected),
    FUNCTION(day),
    FUNCTION(add_months),
    FUNCTION(decimal_compare),
    FUNCTION(decimal_double),
    FUNCTION(decimal_valid),
    FUNCTION(sha256),
    FUNCTION(csv),
};

static void answer(const char *name)
{
    for (size_t i = 0; i < sizeof functions / sizeof *functions; i++)
        if (strcmp(name, functions[i].name) == 0) {
            functions[i].call();
            putchar('\n');
            return;
        }
    fprintf(stderr, "driver: no function %s\n", name);
    exit(2);
}

int main(void)
{
    char *line = NULL;
    size_t size = 0;
    while (getline(&line, &size, stdin) > 0)
        answer(strtok_r(line, " \n", &rest));
    free(line);
    return 0;
}
