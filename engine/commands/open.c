/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands/open.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static void read_site(struct opened *opened, const struct site_place *place, struct opened_site *site)
{
    struct fault bad = {0};
    site->place = place;
    site->site = text_of(place->name);
    site->settings = arena_take(opened->arena, sizeof *site->settings);
    memset(site->settings, 0, sizeof *site->settings);
    bool good = settings_read_site(opened->folder, place, opened->arena, site->settings, &bad);
    if (good && place->unreadable != NULL)
        good = fault_set(&bad, FAULT_FILE, "%s", place->unreadable);
    if (good) {
        site->site = site->settings->site;
        return;
    }
    site->settings = NULL;
    site->why = text_keep(opened->arena, text_of(bad.text));
    opened->bad_count++;
}

bool opened_read(struct opened **out, const char *path, struct fault *fault)
{
    *out = NULL;
    AUTO(opened) opened = memory_new(sizeof *opened);
    opened->arena = arena_new();
    if (!folder_open(&opened->folder, path, fault))
        return false;
    if (!settings_read_program(opened->folder, opened->arena, &opened->program, fault))
        return false;
    opened->site_count = opened->folder->site_count;
    opened->sites = memory_new((opened->site_count + 1) * sizeof *opened->sites);
    for (size_t i = 0; i < opened->site_count; i++)
        read_site(opened, &opened->folder->sites[i], &opened->sites[i]);
    if (opened->bad_count == opened->site_count && opened->site_count)
        return fault_set(fault, FAULT_SETTINGS, "%.*s", TEXT_FORMAT(opened->sites[0].why));
    *out = opened;
    opened = NULL;
    return true;
}

void opened_print_warnings(const struct opened *opened)
{
    for (size_t i = 0; i < opened->site_count; i++) {
        const struct site_settings *settings = opened->sites[i].settings;
        for (size_t w = 0; settings != NULL && w < settings->warning_count; w++)
            print_shown(stderr, "assize: %.*s", TEXT_FORMAT(settings->warnings[w]));
    }
}

void opened_free(struct opened *opened)
{
    if (!opened)
        return;
    memory_free(opened->sites);
    folder_free(opened->folder);
    arena_free(opened->arena);
    memory_free(opened);
}

bool opened_store(struct store **out, const char *path, enum store_mode mode, struct fault *fault)
{
    if (!store_open(out, path, mode, fault))
        return false;
    char last[DAY_TEXT_SIZE] = "";
    if (store_took_back(*out) && store_loaded_on(*out) != DAY_ABSENT)
        day_print(store_loaded_on(*out), last);
    if (store_took_back(*out))
        print_shown(stderr,
                    "assize: %s: a change that had been cut off was taken back, with the journal beside the file; the "
                    "last load that stands is %s%s: give the command that was cut off again",
                    path, *last ? "of " : "none", last);
    return true;
}

bool today_read(const struct arguments *arguments, day_number *out, struct fault *fault)
{
    time_t now = time(NULL);
    struct tm local;
    *out = 0;
    if (localtime_r(&now, &local))
        day_from_civil((struct civil){local.tm_year + 1900, local.tm_mon + 1, local.tm_mday}, out);
    return argument_day(arguments, "today", out, fault);
}

/* ---- sites that only the store or only the folder has ---- */

struct comparing {
    struct opened *opened;
    struct names *names;  /* of the sites in the folder */
    bool *stored;         /* by number of the name: the store has it too */
    struct names *others; /* that only the store has */
};

static void compare_site(void *context, struct text site)
{
    struct comparing *comparing = context;
    uint32_t name = names_find(comparing->names, site);
    if (name)
        comparing->stored[name] = true;
    else
        names_add(comparing->others, site);
}

static void add_gone(struct opened *opened, struct text site)
{
    opened->sites = memory_resize(opened->sites, opened->site_count + 1, sizeof *opened->sites);
    opened->sites[opened->site_count++] = (struct opened_site){
        .site = text_keep(opened->arena, site),
        .why = text_print(opened->arena,
                          "%s: has records of the site %.*s, and no site.yaml here that can be read has that id: put "
                          "its folder or its id back (the folder of a site that has closed stays, too)",
                          opened->folder->store_path, TEXT_FORMAT(site)),
    };
    opened->bad_count++;
}

static void never_loaded(struct opened *opened, struct opened_site *site)
{
    site->settings = NULL;
    site->why = text_print(opened->arena, "%s: its logs were never loaded: `assize load` first", site->place->path);
    opened->bad_count++;
}

bool opened_compare(struct opened *opened, struct store *store, bool loads, struct fault *fault)
{
    const struct folder *folder = opened->folder;
    bool is_alone = folder->program_path && strcmp(folder->program_path, folder->path) != 0; /* one of a program's */
    size_t count = opened->site_count;
    AUTO(names) names = names_new();
    AUTO(names) others = names_new();
    struct comparing comparing = {opened, names, memory_new((count + 1) * sizeof(bool)), others};
    for (size_t i = 0; i < count; i++)
        names_add(names, opened->sites[i].site);
    bool ok = store_sites(store, compare_site, &comparing, fault);
    for (size_t i = 0; ok && !loads && i < count; i++) {
        struct opened_site *site = &opened->sites[i];
        if (site->settings && site->place->log_count > 0 && !comparing.stored[names_find(names, site->site)])
            never_loaded(opened, site);
    }
    for (uint32_t name = 1; ok && !is_alone && name <= names_count(others); name++)
        add_gone(opened, names_text(others, name));
    memory_free(comparing.stored);
    return ok;
}

bool opened_load(struct opened *opened, struct store *store, const struct arguments *arguments,
                 const struct progress *progress, struct load_report **out, struct fault *fault)
{
    *out = NULL;
    day_number today;
    if (!today_read(arguments, &today, fault) || !opened_compare(opened, store, true, fault))
        return false;
    struct load_site *sites = memory_new((opened->site_count + 1) * sizeof *sites);
    size_t count = 0;
    for (size_t i = 0; i < opened->site_count; i++)
        if (opened->sites[i].settings)
            sites[count++] = (struct load_site){opened->sites[i].site, opened->sites[i].place};
    bool ok = store_load(store, sites, count, today, progress, out, fault);
    memory_free(sites);
    return ok;
}

struct presence *opened_presence(const struct opened *opened, struct store *store, day_number as_of,
                                 struct fault *fault)
{
    struct presence *presence = NULL;
    struct presence_site *sites = memory_new((opened->site_count + 1) * sizeof *sites);
    const struct stores stores = stores_of_one(store);
    for (size_t i = 0; i < opened->site_count; i++)
        sites[i] = (struct presence_site){opened->sites[i].settings, 0};
    presence_read(&presence, &stores, sites, opened->site_count, as_of, fault);
    memory_free(sites);
    return presence;
}

bool opened_wants(const struct opened_site *site, const char *only)
{
    return only == NULL || text_is(site->site, only);
}

bool opened_knows(const struct opened *opened, const char *only, struct fault *fault)
{
    for (size_t i = 0; i < opened->site_count; i++)
        if (opened_wants(&opened->sites[i], only))
            return true;
    return only == NULL || fault_set(fault, FAULT_USAGE, "%s: no such site", only);
}

static size_t threads_or_all(size_t asked)
{
    long processors = sysconf(_SC_NPROCESSORS_ONLN);
    return asked ? asked : processors > 0 ? (size_t)processors : 1;
}

bool threads_read(const struct arguments *arguments, size_t *out, struct fault *fault)
{
    enum { THREADS_MOST = 64 };
    uint64_t threads = 0;
    if (!argument_whole(arguments, "threads", &threads, fault))
        return false;
    *out = threads_or_all((size_t)threads);
    return threads <= THREADS_MOST ||
           fault_set(fault, FAULT_USAGE, "--threads: %" PRIu64 ": at most %d", threads, THREADS_MOST);
}

void audit_print_warnings(const struct audit *audit)
{
    for (size_t i = 0; i < audit->warning_count; i++)
        print_shown(stderr, "assize: %.*s", TEXT_FORMAT(audit->warnings[i]));
    for (size_t i = 0; i < audit->site_count; i++)
        if (audit->sites[i].missing)
            print_shown(stderr, "assize: %.*s", TEXT_FORMAT(audit->sites[i].why));
    for (size_t i = 0; i < audit->rule_count; i++)
        if (audit->rules[i].broke)
            print_shown(stderr, "assize: %.*s: not judged at %.*s: %.*s", TEXT_FORMAT(audit->rules[i].rule->id),
                        TEXT_FORMAT(audit->rules[i].site), TEXT_FORMAT(audit->rules[i].why));
}

bool audit_is_whole(const struct audit *audit, const struct rulebook *book)
{
    for (size_t i = 0; i < audit->rule_count; i++)
        if (audit->rules[i].broke)
            return false;
    for (size_t i = 0; i < audit->site_count; i++)
        if (audit->sites[i].missing)
            return false;
    return book->broken_count == 0;
}

static int by_name(const void *a, const void *b)
{
    return text_compare(((const struct audit_site *)a)->site, ((const struct audit_site *)b)->site);
}

static struct audit_site *sites_of_all(struct opened *const *opened, size_t count, size_t *site_count)
{
    struct audit_site *sites = NULL;
    size_t capacity = 0;
    *site_count = 0;
    for (size_t number = 0; number < count; number++)
        for (size_t i = 0; i < opened[number]->site_count; i++) {
            const struct opened_site *site = &opened[number]->sites[i];
            VECTOR_GROW(sites, *site_count, capacity);
            sites[(*site_count)++] = (struct audit_site){site->site, site->settings, site->why, number};
        }
    if (*site_count)
        qsort(sites, *site_count, sizeof *sites, by_name);
    return sites;
}

bool opened_judge_all(struct opened *const *opened, const struct stores *stores, const struct rulebook *book,
                      const struct judge_wish *wish, struct audit **out, struct fault *fault)
{
    size_t site_count;
    struct audit_site *sites = sites_of_all(opened, stores->count, &site_count);
    struct audit_request request = {.book = book,
                                    .stores = stores,
                                    .program = &opened[0]->program,
                                    .sites = sites,
                                    .site_count = site_count,
                                    .from = wish->key.from,
                                    .to = wish->key.to,
                                    .as_of = wish->key.as_of,
                                    .only = text_of(wish->only),
                                    .portraits = wish->portraits,
                                    .redact = wish->redact,
                                    .threads = threads_or_all(wish->threads),
                                    .progress = wish->progress,
                                    .keep = wish->keep};
    bool ok = audit_run(out, &request, fault);
    memory_free(sites);
    return ok;
}

bool opened_judge(struct opened *opened, struct store *store, const struct rulebook *book,
                  const struct judge_wish *wish, struct audit **out, struct fault *fault)
{
    const struct stores stores = stores_of_one(store);
    return opened_knows(opened, wish->only, fault) && opened_judge_all(&opened, &stores, book, wish, out, fault);
}

struct rulebook *rulebook_installed(const struct arguments *arguments, struct fault *fault)
{
    AUTO(rulebook) book = rulebook_new();
    char *home;
    if (!rulebook_home(&home, fault))
        return NULL;
    bool ok = rulebook_add(book, home, "rules", fault);
    memory_free(home);
    for (size_t i = 0; ok && i < argument_count(arguments, "rules"); i++) {
        const char *folder = argument_at(arguments, "rules", i);
        ok = rulebook_add(book, folder, folder, fault);
    }
    if (!ok)
        return NULL;
    struct rulebook *read = book;
    book = NULL;
    return read;
}
