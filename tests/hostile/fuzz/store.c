/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Store files: a good store, damaged. The input is a list of edits, each a place (three bytes), a length and the bytes
 * that go there; an odd first byte cuts the file at the place that follows it. The store is opened, verified and read:
 * where it is opened and verified as whole, it must say what the good one says, to the last cell. */
#define _XOPEN_SOURCE 700
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/digest.h"
#include "common/fuzz.h"
#include "intake/file.h"
#include "intake/folder.h"
#include "store/load.h"

#define SITE TEXT("clinic")
#define TESTS "test,performed_at,analyzer,operator,specimen,lot,result,note\n"
#define CLEANING "cleaned_at,analyzer,task,operator\n"

/* ---- the good store ---- */

static void put(const char *name, const char *text) { fuzz_write(fuzz_path(name), text_of(text)); }

static void load(const char *today)
{
    struct fault fault = {.code = FAULT_NONE};
    day_number day;
    AUTO(folder) folder = NULL;
    AUTO(load_report) report = NULL;
    AUTO(store) store = NULL;
    REQUIRE(folder_open(&folder, fuzz_path("site"), &fault) && day_parse(text_of(today), &day, NULL));
    struct load_site site = {SITE, &folder->sites[0]};
    REQUIRE(store_open(&store, fuzz_path("good.db"), STORE_WRITE, &fault));
    REQUIRE(store_load(store, &site, 1, day, NULL, &report, &fault));
}

static void keep_audit(void)
{
    static const struct kept_finding found[] = {
        {TEXT("F-1"), TEXT("clinic"), TEXT("lots.early"), TEXT("F-S"), TEXT("new"), 9775, 9780}};
    static const struct audit_key key = {9770, 9800, 9800};
    static const struct audit_sum sums[] = {{TEXT("clinic"), 90, 88}};
    struct fault fault = {.code = FAULT_NONE};
    AUTO(store) store = NULL;
    REQUIRE(store_open(&store, fuzz_path("good.db"), STORE_WRITE, &fault));
    REQUIRE(store_keep_audit(store, &key, found, 1, sums, 1, &fault));
}

/* Three loads, so that there are versions amended, withdrawn and brought back, and rows refused. */
static void make_good_store(void)
{
    mkdir(fuzz_path("site"), 0700);
    mkdir(fuzz_path("site/records"), 0700);
    put("site/site.yaml", "site: clinic\n");
    put("site/records/cleaning.csv", CLEANING "2026-10-05 08:00,A1,daily,op1\n2026-10-05 08:05,A2,daily,op1\n");
    put("site/records/tests.csv",
        TESTS "T1,2026-10-05 09:00,A1,op1,S1,L1,5.4,\nT2,2026-10-05 09:10,A1,op1,S2,L1,6.0,late\n");
    load("2026-10-06");
    put("site/records/cleaning.csv", CLEANING "2026-10-05 08:05,A2,daily,op2\nnow,A3,daily,op1\n");
    put("site/records/tests.csv", TESTS "T2,2026-10-05 09:10,A1,op1,S2,L1,6.1,\n");
    load("2026-10-07");
    put("site/records/tests.csv",
        TESTS "T2,2026-10-05 09:10,A1,op1,S2,L1,6.1,\nT1,2026-10-05 09:00,A1,op1,S1,L1,5.4,\n");
    load("2026-10-08");
    keep_audit();
}

/* ---- all that a store says ---- */

struct saying {
    struct store *store;
    struct digest *digest;
    const struct record_kind *kind;
};

static void say(struct saying *saying, struct text text)
{
    digest_add(saying->digest, &text.size, sizeof text.size);
    digest_add(saying->digest, text.data, text.size);
}

static void say_number(struct saying *saying, int64_t number) { digest_add(saying->digest, &number, sizeof number); }

static void say_row(void *context, const struct stored_row *row)
{
    struct saying *saying = context;
    for (size_t i = 0; i < saying->kind->column_count; i++) {
        say_number(saying, row->cells[i].present ? row->cells[i].whole : -1);
        say(saying, row->cells[i].text);
    }
    say(saying, names_text(store_names(saying->store), row->file));
    say_number(saying, row->line);
}

static void say_file(void *context, const struct stored_file *file)
{
    struct saying *saying = context;
    say(saying, file->path);
    say_number(saying, (int64_t)file->rows);
    say(saying, file->refused);
}

static void say_refusal(void *context, const struct stored_refusal *refusal)
{
    struct saying *saying = context;
    say(saying, refusal->path);
    say(saying, refusal->column);
    say(saying, refusal->value);
    say(saying, refusal->reason);
    say_number(saying, refusal->line);
    say_number(saying, refusal->at);
}

static void say_change(void *context, const struct stored_change *change)
{
    struct saying *saying = context;
    say(saying, change->key);
    say(saying, change->path);
    say_number(saying, change->at);
    say_number(saying, change->loaded_on);
    say_number(saying, change->withdrawn);
}

static void say_finding(void *context, const struct kept_finding *finding)
{
    struct saying *saying = context;
    say(saying, finding->number);
    say(saying, finding->site);
    say(saying, finding->rule);
    say(saying, finding->subject);
    say(saying, finding->state);
}

static bool say_audit(struct saying *saying, struct fault *fault)
{
    struct audit_key key;
    bool there;
    if (!store_last_audit(saying->store, &key, &there, fault))
        return false;
    say_number(saying, there);
    struct audit_month month = {.from = key.from};
    return !there || (store_audit_findings(saying->store, &key, say_finding, saying, fault) &&
                      store_trend(saying->store, SITE, &month, 1, fault));
}

/* Everything, also where something of it cannot be read. */
static bool say_all(struct store *store, unsigned char out[DIGEST_SIZE], struct fault *fault)
{
    AUTO(digest) digest = digest_new();
    struct saying saying = {.store = store, .digest = digest};
    bool good = true;
    for (size_t k = 0; k < KIND_COUNT; k++) {
        uint64_t count = 0;
        saying.kind = kind_of((enum kind_id)k);
        good = store_read(store, SITE, saying.kind, say_row, &saying, fault) && good;
        good = store_count(store, SITE, saying.kind, &count, fault) && good;
        say_number(&saying, (int64_t)count);
    }
    good = store_files(store, SITE, say_file, &saying, fault) && good;
    good = store_refusals(store, SITE, say_refusal, &saying, fault) && good;
    good = store_changes(store, SITE, say_change, &saying, fault) && good;
    good = say_audit(&saying, fault) && good;
    digest_end(digest, out);
    return good;
}

/* ---- damage ---- */

struct good_store {
    struct file_bytes bytes;
    unsigned char says[DIGEST_SIZE];
};

/* False: it cannot be opened, or read. */
static bool look(const char *path, bool *whole, unsigned char says[DIGEST_SIZE])
{
    struct fault fault = {.code = FAULT_NONE};
    struct chain_report chain;
    AUTO(store) store = NULL;
    if (!store_open(&store, path, STORE_READ, &fault)) {
        REQUIRE(fault.code == FAULT_STORE && *fault.text != '\0');
        return false;
    }
    bool verified = store_verify(store, &chain, &fault);
    *whole = verified && chain.whole;
    REQUIRE(!verified || chain.whole == (*chain.first_break == '\0'));
    bool read = say_all(store, says, &fault);
    REQUIRE((verified && read) == (fault.code == FAULT_NONE));
    return verified && read;
}

static const struct good_store *good_store(void)
{
    static struct good_store good;
    struct fault fault = {.code = FAULT_NONE};
    bool whole;
    if (good.bytes.data != NULL)
        return &good;
    make_good_store();
    REQUIRE(look(fuzz_path("good.db"), &whole, good.says) && whole);
    REQUIRE(file_read(fuzz_path("good.db"), NULL, &good.bytes, &fault));
    return &good;
}

static size_t place_of(const uint8_t *data, size_t size)
{
    return size == 0 ? 0 : ((size_t)data[0] | (size_t)data[1] << 8 | (size_t)data[2] << 16) % size;
}

static struct text damage(struct text file, char *bytes, const uint8_t *data, size_t size)
{
    if (size >= 4 && data[0] % 2 == 1) {
        file.size = place_of(data + 1, file.size);
        data += 3;
        size -= 3;
    }
    for (data++, size--; size >= 5 && file.size > 0;) {
        size_t at = place_of(data, file.size), length = 1 + data[3] % 16;
        length = length < size - 4 ? length : size - 4;
        length = length < file.size - at ? length : file.size - at;
        memcpy(bytes + at, data + 4, length);
        size_t taken = 4 + (length > 0 ? length : 1);
        data += taken;
        size -= taken;
    }
    return file;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const struct good_store *good = good_store();
    unsigned char says[DIGEST_SIZE];
    bool whole = false;
    if (size == 0)
        return -1;
    char *bytes = fuzz_copy((struct text){good->bytes.data, good->bytes.size});
    struct text damaged = damage((struct text){bytes, good->bytes.size}, bytes, data, size);
    fuzz_write(fuzz_path("damaged.db"), damaged);
    bool readable = look(fuzz_path("damaged.db"), &whole, says);
    if (readable && whole)
        REQUIRE(memcmp(says, good->says, DIGEST_SIZE) == 0);
    unlink(fuzz_path("damaged.db-journal"));
    unlink(fuzz_path("damaged.db-wal"));
    unlink(fuzz_path("damaged.db-shm"));
    memory_free(bytes);
    return 0;
}
