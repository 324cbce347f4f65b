/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What most commands begin with: a folder, its settings, and the store beside it. Sites whose settings are bad are kept
 * with the reason, so that the others can be judged. */
#ifndef ASSIZE_COMMANDS_OPEN_H
#define ASSIZE_COMMANDS_OPEN_H

#include "commands/command.h"
#include "intake/folder.h"
#include "intake/settings.h"
#include "rulebook/rulebook.h"
#include "store/load.h"
#include "timeline/presence.h"

struct opened_site {
    struct text site;
    struct site_settings *settings; /* NULL if the site is bad: `why` says how */
    struct text why;
    const struct site_place *place;
};

struct opened {
    struct folder *folder;
    struct arena *arena;
    struct program_settings program;
    struct opened_site *sites; /* in the byte order of their names */
    size_t site_count, bad_count;
};

bool opened_read(struct opened **out, const char *path, struct fault *fault);
void opened_print_warnings(const struct opened *opened); /* of the settings, on stderr */
void opened_free(struct opened *opened);
OWNER(opened);

/* As store_open; what that took back is told on stderr. */
bool opened_store(struct store **out, const char *path, enum store_mode mode, struct fault *fault);

/* `--today` of the arguments, else the machine's date: the one place where the machine's clock counts. */
bool today_read(const struct arguments *arguments, day_number *out, struct fault *fault);

/* Adds what the folder and its store do not both have, as bad sites: what was loaded must not vanish with its folder,
 * or with another id in site.yaml. Unless it `loads` now, a site with logs that the store knows nothing of is bad, too.
 */
bool opened_compare(struct opened *opened, struct store *store, bool loads, struct fault *fault);

/* Loads the good sites' logs; the day of the load is that of today_read. */
bool opened_load(struct opened *opened, struct store *store, const struct arguments *arguments,
                 const struct progress *progress, struct load_report **out, struct fault *fault);

/* Was all of it judged? If not, the report says what is missing, and the status is 2. */
bool audit_is_whole(const struct audit *audit, const struct rulebook *book);

struct judge_wish {
    struct audit_key key;
    const char *only; /* this site alone; NULL: all of them */
    size_t threads;   /* 0: as many as there are processors */
    struct progress progress;
    bool portraits, redact, keep; /* as in audit_request */
};
bool opened_judge(struct opened *opened, struct store *store, const struct rulebook *book,
                  const struct judge_wish *wish, struct audit **out, struct fault *fault);
/* The sites of several folders of one program, one folder a store, as one list. */
bool opened_judge_all(struct opened *const *opened, const struct stores *stores, const struct rulebook *book,
                      const struct judge_wish *wish, struct audit **out, struct fault *fault);

#define THREADS_OPTION                                                                                            \
    {                                                                                                             \
        "threads", "N", "do N sites or reports side by side; as many as there are processors if not given", false \
    }
/* As many as there are processors if not given. */
bool threads_read(const struct arguments *arguments, size_t *out, struct fault *fault);

void audit_print_warnings(const struct audit *audit); /* of what could not be judged, on stderr */

/* Where the operators of all sites were, for judging one of them; NULL with the fault set. */
struct presence *opened_presence(const struct opened *opened, struct store *store, day_number as_of,
                                 struct fault *fault);

/* Whether a site is asked for: `only` is NULL for all. */
bool opened_wants(const struct opened_site *site, const char *only);
bool opened_knows(const struct opened *opened, const char *only, struct fault *fault);

/* The rules that came with the program and those of --rules; NULL with the fault set. */
struct rulebook *rulebook_installed(const struct arguments *arguments, struct fault *fault);

#endif
