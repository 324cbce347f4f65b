/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "rulebook/rulebook.h"

static const char good[] =
    "return rule { id = 'x.y', title = 't', severity = 'notice', duty = 'practice', basis = { 'b' }, on = 'run',"
    " subject = { 'analyzer' }, facts = { 'day' }, check = function() end, says = 's', remedy = 'r', examples = { {} } "
    "%s }";

/* Loads a folder with this one rule file; what the book says of it. */
static void load(const char *source, char why[FAULT_TEXT_SIZE], size_t *rules)
{
    char folder[] = "/tmp/rules-XXXXXX", path[64];
    cr_assert_not_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/x.lua", folder);
    FILE *file = fopen(path, "w");
    fputs(source, file);
    fclose(file);
    AUTO(rulebook) book = rulebook_new();
    struct fault fault = {0};
    cr_expect(rulebook_add(book, folder, "rules", &fault), "%s", fault.text);
    *rules = book->count;
    snprintf(why, FAULT_TEXT_SIZE, "%.*s", TEXT_FORMAT(book->broken_count ? book->broken[0].why : TEXT("")));
    unlink(path);
    rmdir(folder);
}

Test(rule, each_wrong_field_is_named_with_file_and_field)
{
    static const struct {
        const char *source, *why;
    } rows[] = {
        {"return 5", "rules/x.lua: rule: the file must end with"},
        {"return {}", "rules/x.lua: id: is missing"},
        {"return rule { id = 5 }", "rules/x.lua: id: must be a string"},
        {"return rule { id = 'x', titel = 't' }", "rules/x.lua: titel: is no field of a rule, did you mean 'title'?"},
        {"return rule { id = 'x', title = 't', remedy = '' }", "remedy: is empty"},
        {"return rule { id = 'x', title = 't', remedy = 'r', basis = 'b' }", "basis: must be a list of strings"},
        {"return rule { id = 'x', title = 't', remedy = 'r', basis = {} }", "basis: is empty"},
        {"return rule { id = 'x', title = 't', remedy = 'r', basis = {'b'}, on = 'rum' }",
         "on: 'rum' is not known here, did you mean 'run'?"},
        {"return rule { id = 'x', title = 't', remedy = 'r', basis = {'b'}, on = 'run', severity = 'bad' }",
         "severity: 'bad' is not known"},
        {"return rule { id = 'x', title = 't', remedy = 'r', basis = {'b'}, on = 'run', severity = 'notice', duty = "
         "'law', facts = {'dya'} }",
         "facts: no fact is called 'dya', did you mean 'day'?"},
        {"return rule { id = 'x', title = 't', remedy = 'r', basis = {'b'}, on = 'run', severity = 'notice', duty = "
         "'law', facts = {'clause'} }",
         "facts: 'clause' is not known at each run"},
        {"return rule { id = 'x', title = 't', remedy = 'r', basis = {'b'}, on = 'run', severity = 'notice', duty = "
         "'law', facts = {'day'}, subject = {'moon'} }",
         "subject: has a field that is none of"},
        {"return rule { id = 'x', title = 't', remedy = 'r', basis = {'b'}, on = 'run', severity = 'notice', duty = "
         "'law', facts = {'day'}, subject = {'lot', 'lot', 'lot', 'lot', 'lot', 'lot', 'lot', 'lot'} }",
         "subject: has too many fields"},
        /* Of several things that are wrong always the same is told. */
        {"return rule { id = 'x', fog = 1, fig = 2, [8] = 3, feg = 4, fag = 5, fug = 6 }", "?: is no field of a rule"},
        {"return rule { id = 'x', fog = 1, fig = 2, feg = 4, fag = 5, fug = 6 }", "fag: is no field of a rule"},
        {"return rule { id = 'x', title = 't', remedy = 'r', basis = {'b'}, on = 'run', severity = 'notice', duty = "
         "'law', facts = {'day'}, subject = {}, says = 'a {b' }",
         "says: has a { without its }"},
        {"return rule { id = 'x', title = 't', remedy = 'r', basis = {'b'}, on = 'run', severity = 'notice', duty = "
         "'law', facts = {'day'}, subject = {}, says = ('{day}'):rep(65) }",
         "says: has more than 64 placeholders"},
        {"return rule { id = 'x', title = 't', remedy = 'r', basis = {'b'}, on = 'run', severity = 'notice', duty = "
         "'law', facts = {'day'}, subject = {}, says = ('x'):rep(1001) }",
         "says: is longer than 1,000 bytes"},
        {"return rule { id = 'x', title = 't', remedy = 'r', basis = {'b'}, on = 'run', severity = 'notice', duty = "
         "'law', facts = {'day'}, subject = {}, says = 's' }",
         "check: must be a function"},
        {"while true do end", "budget"},
        {"error('no')", "rules/x.lua:1: no"},
        {"judge {} return rule {}", "can be called in check and affects only"},
        {"return rule {", "rules/x.lua:1"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char why[FAULT_TEXT_SIZE];
        size_t rules;
        load(rows[i].source, why, &rules);
        cr_expect_eq(rules, 0, "row %zu", i);
        cr_expect(strstr(why, rows[i].why) != NULL, "row %zu: %s", i, why);
    }
}

Test(rule, a_good_one_is_taken_and_its_id_is_taken_then)
{
    char source[1024], why[FAULT_TEXT_SIZE];
    size_t rules;
    snprintf(source, sizeof source, good, "");
    load(source, why, &rules);
    cr_expect_eq(rules, 1, "%s", why);
    snprintf(source, sizeof source, good, ", params = { days = { 3, meaning = 'm' }, day = { 1, meaning = 'm' } }");
    load(source, why, &rules);
    cr_expect(strstr(why, "params: one has the name of a fact") != NULL, "%s", why);
}

static struct parameter_value value_of(const char *method_line, const char *site, const char *program,
                                       enum parameter_origin *origin)
{
    struct rule_parameter parameter = {
        .name = TEXT("days"), .method_key = "a.b", .standard = {.present = true, .number = 1}};
    struct rule rule = {.text = {.id = TEXT("x.y")}, .parameters = {parameter}, .parameter_count = 1};
    struct setting_line line = {TEXT("a.b"), text_of(method_line), 1};
    struct method_settings method = {.lines = &line, .line_count = method_line != NULL};
    struct policy_value values[] = {{.name = TEXT("days"), .value = text_of(site)},
                                    {.name = TEXT("days"), .value = text_of(program)}};
    struct policy_entry entries[] = {{.rule = TEXT("x.y"), .values = &values[0], .value_count = site != NULL},
                                     {.rule = TEXT("x.y"), .values = &values[1], .value_count = program != NULL}};
    struct policy of_site = {&entries[0], 1}, of_program = {&entries[1], 1};
    struct policies policies = {&of_site, &of_program};
    return parameter_in_force(&rule, &rule.parameters[0], &method, &policies, origin);
}

Test(rule, a_parameter_comes_from_the_method_then_the_site_then_the_program_then_the_rule)
{
    enum parameter_origin origin;
    cr_expect_eq(value_of("9", "8", "7", &origin).number, 9);
    cr_expect_eq(origin, FROM_METHOD_FILE);
    cr_expect_eq(value_of(NULL, "8", "7", &origin).number, 8);
    cr_expect_eq(origin, FROM_SITE_POLICY);
    cr_expect_eq(value_of(NULL, NULL, "7", &origin).number, 7);
    cr_expect_eq(origin, FROM_PROGRAM_POLICY);
    cr_expect_eq(value_of(NULL, NULL, NULL, &origin).number, 1);
    cr_expect_eq(origin, FROM_RULE);
}
