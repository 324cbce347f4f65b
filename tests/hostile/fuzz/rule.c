/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rule files: the input is one, beside a good one. It is a rule or a broken file, never both or neither; the good one
 * stays what it is; examples end within the limits of the box (libFuzzer's -timeout and -rss_limit_mb see to that) and
 * give the same when they are run again. */
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/digest.h"
#include "common/fuzz.h"
#include "rulebook/examples.h"

static const char good[] =
    "return rule {\n"
    "  id = 'fuzz.good', title = 'A code is written down', severity = 'practice', duty = 'practice',\n"
    "  basis = { 'common practice, no source' }, on = 'run', subject = { 'analyzer' }, facts = { 'code?' },\n"
    "  check = function(code) return code ~= nil end, says = '{events:run} without a code on {analyzer}',\n"
    "  remedy = 'Write it down.', examples = { { 'a code', tests = { { code = '41' } }, finds = {} } },\n"
    "}\n";

struct digested { /* what the examples of a rule said */
    struct digest *digest;
    size_t count;
};

static void add_example(void *context, const struct rule *rule, const struct example_result *result)
{
    struct digested *digested = context;
    (void)rule;
    digested->count++;
    digest_add(digested->digest, result->name.data, result->name.size);
    digest_add(digested->digest, &result->holds, sizeof result->holds);
    digest_add(digested->digest, result->why.data, result->why.size);
}

struct installed {
    struct rulebook *book;
    struct example_site *site;
};

static const struct installed *installed(void)
{
    static struct installed installed;
    struct fault fault = {.code = FAULT_NONE};
    if (installed.book != NULL)
        return &installed;
    installed.book = rulebook_new();
    REQUIRE(rulebook_add(installed.book, "rules", "rules", &fault));
    REQUIRE(example_site_open(&installed.site, "rules", &fault));
    return &installed;
}

/* False: they could not be run. */
static bool run_examples(const struct rulebook *book, const struct rule *rule, unsigned char out[DIGEST_SIZE])
{
    AUTO(digest) digest = digest_new();
    struct digested digested = {.digest = digest};
    struct fault fault = {.code = FAULT_NONE};
    bool run = examples_run(installed()->site, book, installed()->book, rule, add_example, &digested, &fault);
    REQUIRE(run == (fault.code == FAULT_NONE));
    digest_add(digest, fault.text, strlen(fault.text));
    digest_end(digest, out);
    return run;
}

static void require_same_again(const struct rulebook *book, const struct rule *rule)
{
    unsigned char first[DIGEST_SIZE], second[DIGEST_SIZE];
    bool run = run_examples(book, rule, first);
    REQUIRE(run == run_examples(book, rule, second));
    REQUIRE(memcmp(first, second, DIGEST_SIZE) == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct fault fault = {.code = FAULT_NONE};
    AUTO(rulebook) book = rulebook_new();
    mkdir(fuzz_path("rules"), 0700);
    fuzz_write(fuzz_path("rules/a.lua"), fuzz_text(data, size));
    fuzz_write(fuzz_path("rules/b.lua"), TEXT(good));
    if (!rulebook_add(book, fuzz_path("rules"), "fuzz", &fault)) {
        REQUIRE(fault.code == FAULT_RULE && strstr(fault.text, "fuzz.good") != NULL); /* the id that is taken */
        return 0;
    }
    REQUIRE(book->count + book->broken_count == 2 && book->count >= 1);
    const struct rule *other = rulebook_find(book, TEXT("fuzz.good"));
    REQUIRE(other != NULL && text_is(other->file, "fuzz/b.lua"));
    for (size_t i = 0; i < book->count; i++)
        if (&book->rules[i] != other)
            require_same_again(book, &book->rules[i]);
    for (size_t i = 0; i < book->broken_count; i++)
        REQUIRE(book->broken[i].why.size > 0);
    return 0;
}
