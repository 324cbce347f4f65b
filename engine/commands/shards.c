/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands/shards.h"

#include <stdlib.h>
#include <string.h>

#include "commands/period.h"
#include "intake/file.h"

/* ---- one shard -----------------------------------------------------------------------------------------------------
 */

/* The folder of a path that names the store in it; else the path. */
static char *folder_of(const char *word)
{
    static const char store[] = "assize.db";
    size_t size = strlen(word), end = sizeof store - 1;
    char *folder = memory_copy_string(word);
    if (size < end || strcmp(word + size - end, store) != 0 || (size > end && word[size - end - 1] != '/'))
        return folder;
    if (size == end)
        strcpy(folder, ".");
    else
        folder[size - end - (size > end + 1)] = '\0';
    return folder;
}

static bool is_program(const struct folder *folder)
{
    return folder->program_path != NULL && strcmp(folder->program_path, folder->path) == 0;
}

static bool read_shard(struct opened **out, const char *word, struct fault *fault)
{
    char *path = folder_of(word);
    bool ok = opened_read(out, path, fault);
    memory_free(path);
    if (!ok)
        return false;
    const struct folder *folder = (*out)->folder;
    if (!is_program(folder))
        return fault_set(fault, FAULT_USAGE, "%s: no shard of a program: it holds no program.yaml", folder->path);
    if (!file_exists(folder->store_path))
        return fault_set(fault, FAULT_USAGE, "%s: there is no store yet: `assize audit` the shard first",
                         folder->store_path);
    return true;
}

/* ---- of one program ------------------------------------------------------------------------------------------------
 */

/* A file that neither folder has is the same in both. */
static bool same_file(const char *one, const char *other, const char *name)
{
    struct file_bytes a = {0}, b = {0};
    struct fault none = {0};
    char *first = path_join(one, name), *second = path_join(other, name);
    bool has_first = file_read(first, NULL, &a, &none), has_second = file_read(second, NULL, &b, &none);
    bool same = has_first == has_second && a.size == b.size && (a.size == 0 || memcmp(a.data, b.data, a.size) == 0);
    memory_free(a.data);
    memory_free(b.data);
    memory_free(first);
    memory_free(second);
    return same;
}

/* Of the method files in `names` one that differs between the folders; NULL if none does. */
static const char *other_method(const struct folder_names *names, const char *one, const char *other)
{
    for (size_t i = 0; i < names->count; i++)
        if (!name_is_by_product(names->names[i]) && !same_file(one, other, names->names[i]))
            return names->names[i];
    return NULL;
}

static bool same_methods(const char *one, const char *other, struct fault *fault)
{
    char *first = path_join(one, "methods"), *second = path_join(other, "methods");
    struct folder_names names = {0}, others = {0};
    bool has_first = folder_names_read(first, &names), has_second = folder_names_read(second, &others);
    const char *apart = has_first ? other_method(&names, first, second) : NULL;
    if (!apart && has_second)
        apart = other_method(&others, first, second);
    if (apart)
        fault_set(fault, FAULT_USAGE, "%s/%s: not the same as in %s: the shards of a program share its methods", second,
                  apart, first);
    bool same = apart == NULL;
    if (has_first)
        folder_names_free(&names);
    if (has_second)
        folder_names_free(&others);
    memory_free(first);
    memory_free(second);
    return same;
}

static bool of_one_program(const struct shards *shards, struct fault *fault)
{
    const char *first = shards->opened[0]->folder->path;
    for (size_t i = 1; i < shards->stores.count; i++) {
        const char *other = shards->opened[i]->folder->path;
        if (!same_file(first, other, "program.yaml"))
            return fault_set(fault, FAULT_USAGE,
                             "%s/program.yaml: not the same as in %s: the shards of a program share it", other, first);
        if (!same_methods(first, other, fault))
            return false;
    }
    return true;
}

struct site_in_shard {
    struct text site;
    const char *path;
};

static int by_site(const void *a, const void *b)
{
    return text_compare(((const struct site_in_shard *)a)->site, ((const struct site_in_shard *)b)->site);
}

/* A shard that is named twice has all its sites twice. */
static bool each_site_once(const struct shards *shards, struct fault *fault)
{
    struct site_in_shard *sites = NULL;
    size_t count = 0, capacity = 0;
    for (size_t i = 0; i < shards->stores.count; i++)
        for (size_t s = 0; s < shards->opened[i]->site_count; s++) {
            VECTOR_GROW(sites, count, capacity);
            sites[count++] = (struct site_in_shard){shards->opened[i]->sites[s].site, shards->opened[i]->folder->path};
        }
    if (count)
        qsort(sites, count, sizeof *sites, by_site);
    bool ok = true;
    for (size_t i = 1; ok && i < count; i++)
        if (text_equal(sites[i].site, sites[i - 1].site))
            ok = fault_set(fault, FAULT_USAGE, "%.*s: is in two shards: %s and %s", TEXT_FORMAT(sites[i].site),
                           sites[i - 1].path, sites[i].path);
    memory_free(sites);
    return ok;
}

bool shards_read(struct shards **out, const struct arguments *arguments, size_t first, struct fault *fault)
{
    size_t count = argument_word_count(arguments) - first;
    AUTO(shards) shards = memory_new(sizeof *shards);
    *out = NULL;
    shards->opened = memory_new((count + 1) * sizeof(struct opened *));
    shards->paths = memory_new((count + 1) * sizeof *shards->paths);
    shards->loaded_on = memory_new((count + 1) * sizeof *shards->loaded_on);
    shards->stores.paths = shards->paths;
    for (size_t i = 0; i < count; i++) {
        bool ok = read_shard(&shards->opened[i], argument_word(arguments, first + i), fault);
        shards->stores.count += shards->opened[i] != NULL;
        if (!ok)
            return false;
        shards->paths[i] = shards->opened[i]->folder->store_path;
    }
    if (!of_one_program(shards, fault) || !each_site_once(shards, fault))
        return false;
    *out = shards;
    shards = NULL;
    return true;
}

void shards_free(struct shards *shards)
{
    if (!shards)
        return;
    for (size_t i = 0; i < shards->stores.count; i++)
        opened_free(shards->opened[i]);
    memory_free(shards->opened);
    memory_free(shards->paths);
    memory_free(shards->loaded_on);
    memory_free(shards);
}

/* ---- the period ----------------------------------------------------------------------------------------------------
 */

static bool audits_differ(const struct shards *shards, size_t number, const struct audit_key *first,
                          const struct audit_key *other, struct fault *fault)
{
    char days[6][DAY_TEXT_SIZE];
    const day_number numbers[6] = {other->from, other->to, other->as_of, first->from, first->to, first->as_of};
    for (size_t i = 0; i < 6; i++)
        day_print(numbers[i], days[i]);
    return fault_set(
        fault, FAULT_USAGE,
        "%s: its last audit is of %s to %s as of %s, that of %s of %s to %s as of %s: say which period, or "
        "audit the shards alike",
        shards->paths[number], days[0], days[1], days[2], shards->paths[0], days[3], days[4], days[5]);
}

static bool period_of(const struct shards *shards, size_t number, const struct arguments *arguments,
                      struct audit_key *out, struct fault *fault)
{
    AUTO(store) store = NULL;
    if (!opened_store(&store, shards->paths[number], STORE_WRITE, fault))
        return false;
    shards->loaded_on[number] = store_loaded_on(store);
    return opened_compare(shards->opened[number], store, false, fault) && period_or_last(arguments, store, out, fault);
}

void shards_warn_of_old_loads(const struct shards *shards, struct audit *audit)
{
    char last[DAY_TEXT_SIZE], as_of[DAY_TEXT_SIZE];
    day_print(audit->as_of, as_of);
    for (size_t i = 0; i < shards->stores.count; i++) {
        if (shards->loaded_on[i] == DAY_ABSENT || shards->loaded_on[i] >= audit->as_of)
            continue;
        day_print(shards->loaded_on[i], last);
        audit_add_warning(audit, text_print(audit->arena,
                                            "%s: nothing new was loaded since %s, and it is seen from %s: what was "
                                            "logged since, if anything was, is not in this report",
                                            shards->paths[i], last, as_of));
    }
}

bool shards_period(const struct shards *shards, const struct arguments *arguments, struct audit_key *out,
                   struct fault *fault)
{
    if (!period_of(shards, 0, arguments, out, fault))
        return false;
    for (size_t i = 1; i < shards->stores.count; i++) {
        struct audit_key other;
        if (!period_of(shards, i, arguments, &other, fault))
            return false;
        if (other.from != out->from || other.to != out->to || other.as_of != out->as_of)
            return audits_differ(shards, i, out, &other, fault);
    }
    return true;
}
