/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize answer: for the site lead. Opens a corrective action for a finding in the site's actions log, closes it, or
 * enters who verified it. A gap of the past cannot be undone; this is how it is answered. */
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "commands/open.h"
#include "intake/actions_log.h"
#include "store/lock.h"

enum { OPENING_MOST = 7 };

static const struct option_row options[] = {
    {"problem", "TEXT", "opens an action: what went wrong, and why", false},
    {"owner", "WHO", "who sees to it", false},
    {"taken", "TEXT", "what was done about it", false},
    {"due", "YYYY-MM-DD", "day by which it is to be closed", false},
    {"close", "YYYY-MM-DD", "closes the action that names the finding, on that day", false},
    {"verify", "WHO", "enters who saw that a closed action worked; not its owner", false},
    {"action", "ID", "to close or verify this one, where several name the finding", false},
    {"today", "YYYY-MM-DD", "the day an action is opened; the machine's date if not given", false},
    {NULL, NULL, NULL, false},
};

struct answering {
    const struct arguments *arguments;
    const struct opened *opened;
    struct store *store;
    struct arena *arena;
    const char *finding;
    struct actions_log *log; /* of the site at hand */
    struct fault *fault;
};

/* ---- what the command line says ---- */

/* Which of the three it is; options that belong to another of them are no slip of the pen to be passed over. */
static bool check_options(const struct arguments *arguments, struct fault *fault)
{
    static const char *const deeds[] = {"problem", "close", "verify"};
    static const struct {
        const char *option, *with, * or ;
    } belongs[] = {{"owner", "problem", NULL},
                   {"due", "problem", NULL},

                   {"taken", "problem", "close"},
                   {"action", "close", "verify"}};
    int count = 0;
    for (size_t i = 0; i < sizeof deeds / sizeof *deeds; i++)
        count += argument_flag(arguments, deeds[i]);
    if (count != 1)
        return fault_set(fault, FAULT_USAGE,
                         "say one of --problem (with --owner) to open an action, --close, or --verify");
    for (size_t i = 0; i < sizeof belongs / sizeof *belongs; i++)
        if (argument_flag(arguments, belongs[i].option) && !argument_flag(arguments, belongs[i].with) &&
            !(belongs[i].or != NULL && argument_flag(arguments, belongs[i].or)))
            return fault_set(fault, FAULT_USAGE, "--%s goes with --%s%s%s", belongs[i].option, belongs[i].with,
                             belongs[i].or != NULL ? " or --" : "", belongs[i].or != NULL ? belongs[i].or : "");
    if (argument_flag(arguments, "problem") && !argument_flag(arguments, "owner"))
        return fault_set(fault, FAULT_USAGE, "--problem: say with --owner who sees to it");
    return true;
}

/* The value of an option as a cell of the log would read it. */
static bool cell_of(const struct answering *answering, const char *option, int column, struct edit_cell *out)
{
    struct text value = text_trim(text_of(argument_text(answering->arguments, option)));
    const char *why = NULL;
    struct cell cell;
    if (value.size == 0)
        return fault_set(answering->fault, FAULT_USAGE, "--%s: is empty", option);
    if (utf8_valid_size(value) != value.size)
        why = "is not UTF-8";
    else
        cell_parse(&kind_of(KIND_ACTIONS)->columns[column], value, &cell, &why);
    *out = (struct edit_cell){column, value};
    return why == NULL ||
           fault_set(answering->fault, FAULT_USAGE, "--%s: %.*s: %s", option, TEXT_FORMAT(utf8_cut(value, 64)), why);
}

static struct text day_text(struct arena *arena, day_number day)
{
    char text[DAY_TEXT_SIZE];
    day_print(day, text);
    return text_keep(arena, text_of(text));
}

/* ---- opening ---- */

/* The site of the finding; NULL with the fault set. */
static const struct opened_site *find_site(const struct answering *answering)
{
    struct kept_finding kept;
    bool there;
    if (!store_kept_finding(answering->store, answering->finding, answering->arena, &kept, &there, answering->fault))
        return NULL;
    if (!there) {
        fault_set(answering->fault, FAULT_USAGE, "%s: no such finding: no audit kept in the store found it",
                  answering->finding);
        return NULL;
    }
    for (size_t i = 0; i < answering->opened->site_count; i++)
        if (text_equal(answering->opened->sites[i].site, kept.site))
            return &answering->opened->sites[i];
    fault_set(answering->fault, FAULT_USAGE, "%s: is a finding of the site %.*s, which is not in %s",
              answering->finding, TEXT_FORMAT(kept.site), answering->opened->folder->path);
    return NULL;
}

static void reserve_withdrawn(void *context, const struct stored_change *change)
{
    struct answering *answering = context;
    static const char before[] = "actions ";
    if (change->withdrawn && text_starts(change->key, before))
        actions_log_reserve(answering->log, (struct text){change->key.data + sizeof before - 1,
                                                          change->key.size - (sizeof before - 1)});
}

static void warn_of_open(const struct answering *answering)
{
    size_t count;
    const struct logged_action *rows = actions_log_rows(answering->log, &count);
    for (size_t i = 0; i < count; i++)
        if (text_is(rows[i].finding, answering->finding) && rows[i].closed_on == DAY_ABSENT)
            print_shown(stderr, "assize: %s:%u: %.*s names %s too, and is open", rows[i].file, rows[i].line,
                        TEXT_FORMAT(rows[i].action), answering->finding);
}

static bool check_due(const struct answering *answering, day_number today)
{
    day_number due = today;
    if (!argument_day(answering->arguments, "due", &due, answering->fault))
        return false;
    return due >= today || fault_set(answering->fault, FAULT_USAGE, "--due: lies before the day of opening, %s",
                                     day_text(answering->arena, today).data);
}

static bool open_action(struct answering *answering)
{
    struct fault *fault = answering->fault;
    struct arena *arena = answering->arena;
    struct edit_cell cells[OPENING_MOST] = {{0}};
    size_t count = 4;
    day_number today;
    const char *file = NULL;
    if (!today_read(answering->arguments, &today, fault) || !check_due(answering, today) ||
        !cell_of(answering, "problem", COL(ACTIONS, problem), &cells[0]) ||
        !cell_of(answering, "owner", COL(ACTIONS, owner), &cells[1]))
        return false;
    cells[2] = (struct edit_cell){COL(ACTIONS, opened_on), day_text(arena, today)};
    cells[3] = (struct edit_cell){COL(ACTIONS, finding), text_of(answering->finding)};
    if (argument_flag(answering->arguments, "taken") &&
        !cell_of(answering, "taken", COL(ACTIONS, taken), &cells[count++]))
        return false;
    if (argument_flag(answering->arguments, "due") && !cell_of(answering, "due", COL(ACTIONS, due_on), &cells[count++]))
        return false;
    const struct opened_site *site = find_site(answering);
    if (!site || !actions_log_read(&answering->log, site->place, fault) ||
        !store_changes(answering->store, site->site, reserve_withdrawn, answering, fault))
        return false;
    struct text action = actions_log_next(answering->log);
    cells[count++] = (struct edit_cell){COL(ACTIONS, action), action};
    warn_of_open(answering);
    if (!actions_log_add(answering->log, cells, count, &file, fault))
        return false;
    print_shown(stdout, "%.*s answers %s; it is in %s/%s, and %.*s sees to it. The next load takes it in.",
                TEXT_FORMAT(action), answering->finding, site->place->path, file, TEXT_FORMAT(cells[1].value));
    return true;
}

/* ---- closing and verifying ---- */

static bool awaits(const struct logged_action *row, bool verifying)
{
    return verifying ? row->closed_on != DAY_ABSENT && row->verified_by.data == NULL : row->closed_on == DAY_ABSENT;
}

/* Why an action cannot be closed or verified. */
static bool refuse_action(const struct answering *answering, const struct logged_action *row, bool verifying)
{
    const char *day = row->closed_on != DAY_ABSENT ? day_text(answering->arena, row->closed_on).data : "";
    if (verifying && row->closed_on == DAY_ABSENT)
        return fault_set(answering->fault, FAULT_USAGE, "%.*s is not closed yet; close it first, with --close",
                         TEXT_FORMAT(row->action));
    if (verifying)
        return fault_set(answering->fault, FAULT_USAGE, "%.*s is verified already, by %.*s", TEXT_FORMAT(row->action),
                         TEXT_FORMAT(row->verified_by));
    return fault_set(answering->fault, FAULT_USAGE, "%.*s is closed already, on %s", TEXT_FORMAT(row->action), day);
}

static bool refuse_several(const struct answering *answering, bool verifying)
{
    size_t count;
    const struct logged_action *rows = actions_log_rows(answering->log, &count);
    struct text list = {0};
    for (size_t i = 0; i < count; i++)
        if (text_is(rows[i].finding, answering->finding) && awaits(&rows[i], verifying))
            list = text_print(answering->arena, "%.*s%s%.*s", TEXT_FORMAT(list), list.size > 0 ? ", " : "",
                              TEXT_FORMAT(rows[i].action));
    return fault_set(answering->fault, FAULT_USAGE, "several actions name %s: %.*s; say which with --action",
                     answering->finding, TEXT_FORMAT(list));
}

/* A change to one of two rows of an action would set them against each other, and a load would refuse both. */
static bool stands_once(const struct answering *answering, const struct logged_action *row)
{
    size_t count;
    const struct logged_action *rows = actions_log_rows(answering->log, &count);
    for (size_t i = 0; i < count; i++)
        if (&rows[i] != row && text_equal(rows[i].action, row->action))
            return fault_set(answering->fault, FAULT_FILE,
                             "%.*s stands in the log twice, %s:%u and %s:%u; take one out", TEXT_FORMAT(row->action),
                             row->file, row->line, rows[i].file, rows[i].line);
    return true;
}

/* *found: an action of the site names the finding (and is the one of --action). *out: the one to be changed. */
static bool choose_at_site(struct answering *answering, const struct opened_site *site, bool verifying, bool *found,
                           const struct logged_action **out)
{
    size_t count, waiting = 0;
    const struct logged_action *rows, *last = NULL;
    const char *action = argument_text(answering->arguments, "action");
    if (!actions_log_read(&answering->log, site->place, answering->fault))
        return false;
    rows = actions_log_rows(answering->log, &count);
    *out = NULL;
    for (size_t i = 0; i < count; i++) {
        if (!text_is(rows[i].finding, answering->finding) || (action != NULL && !text_is(rows[i].action, action)))
            continue;
        last = &rows[i];
        if (awaits(last, verifying)) {
            *out = last;
            waiting++;
        }
    }
    *found = last != NULL;
    if (waiting > 1 && action == NULL)
        return refuse_several(answering, verifying);
    if (*out != NULL)
        return stands_once(answering, *out);
    return last == NULL || refuse_action(answering, last, verifying);
}

static void refuse_unnamed(const struct answering *answering)
{
    const char *action = argument_text(answering->arguments, "action");
    if (!find_site(answering))
        return;
    if (action != NULL)
        fault_set(answering->fault, FAULT_USAGE, "--action: %s: no such action names %s", action, answering->finding);
    else
        fault_set(answering->fault, FAULT_USAGE, "no action names %s yet; open one with --problem and --owner",
                  answering->finding);
}

/* The action to be changed; NULL with the fault set. It is found by the finding it names, at whatever site: the audit
 * that had the finding may be gone. */
static const struct logged_action *choose(struct answering *answering, bool verifying)
{
    bool found = false;
    const struct logged_action *row = NULL;
    for (size_t i = 0; !found && i < answering->opened->site_count; i++) {
        actions_log_free(answering->log);
        answering->log = NULL;
        if (!choose_at_site(answering, &answering->opened->sites[i], verifying, &found, &row))
            return NULL;
    }
    if (row == NULL)
        refuse_unnamed(answering);
    return row;
}

/* What was entered before stays: to replace it would be an amendment. */
static bool check_taken(const struct answering *answering, const struct logged_action *row)
{
    bool given = argument_flag(answering->arguments, "taken");
    if (!given && row->taken.data == NULL)
        return fault_set(answering->fault, FAULT_USAGE, "--close: say with --taken what was done about it");
    if (given && row->taken.data != NULL)
        return fault_set(answering->fault, FAULT_USAGE,
                         "%.*s says already what was done (\"%.*s\"); leave --taken out, or change %s:%u with a note",
                         TEXT_FORMAT(row->action), TEXT_FORMAT(utf8_cut(row->taken, 64)), row->file, row->line);
    return true;
}

/* *last: the last day on which the latest audit kept that found it judged it, DAY_ABSENT if none says. */
static bool last_day_of_finding(const struct answering *answering, day_number *last)
{
    struct kept_finding kept;
    bool there;
    if (!store_kept_finding(answering->store, answering->finding, answering->arena, &kept, &there, answering->fault))
        return false;
    *last = there ? kept.last_day : DAY_ABSENT;
    return true;
}

/* An action that was closed before something happened cannot have been about it. */
static bool print_stays_open(const struct answering *answering, day_number closed, day_number last)
{
    bool stays = last != DAY_ABSENT && last > closed;
    if (stays)
        print_shown(stdout,
                    "%s was there on %s still, after the day of closing: it stays open until an action is closed that "
                    "day or later.",
                    answering->finding, day_text(answering->arena, last).data);
    return stays;
}

static bool close_action(struct answering *answering)
{
    struct edit_cell cells[2] = {{0}};
    size_t count = 1;
    day_number closed = DAY_ABSENT;
    if (!argument_day(answering->arguments, "close", &closed, answering->fault) ||
        !cell_of(answering, "close", COL(ACTIONS, closed_on), &cells[0]))
        return false;
    if (argument_flag(answering->arguments, "taken") &&
        !cell_of(answering, "taken", COL(ACTIONS, taken), &cells[count++]))
        return false;
    const struct logged_action *row = choose(answering, false);
    day_number last;
    if (!row || !check_taken(answering, row) || !last_day_of_finding(answering, &last))
        return false;
    if (closed < row->opened_on)
        return fault_set(answering->fault, FAULT_USAGE, "--close: lies before the day that %.*s was opened, %s",
                         TEXT_FORMAT(row->action), day_text(answering->arena, row->opened_on).data);
    if (!actions_log_change(answering->log, row, cells, count, answering->fault))
        return false;
    print_shown(stdout, "%.*s is closed; now someone other than %.*s sees that it worked (--verify).",
                TEXT_FORMAT(row->action), TEXT_FORMAT(row->owner));
    print_stays_open(answering, closed, last);
    return true;
}

static bool verify_action(struct answering *answering)
{
    struct edit_cell cell = {0};
    if (!cell_of(answering, "verify", COL(ACTIONS, verified_by), &cell))
        return false;
    const struct logged_action *row = choose(answering, true);
    day_number last;
    if (!row || !last_day_of_finding(answering, &last))
        return false;
    if (text_same(cell.value, row->owner))
        return fault_set(answering->fault, FAULT_USAGE,
                         "--verify: %.*s is the owner of %.*s; someone else must see that it worked",
                         TEXT_FORMAT(cell.value), TEXT_FORMAT(row->action));
    if (!actions_log_change(answering->log, row, &cell, 1, answering->fault))
        return false;
    print_shown(stdout, "%.*s is verified by %.*s.", TEXT_FORMAT(row->action), TEXT_FORMAT(cell.value));
    if (!print_stays_open(answering, row->closed_on, last))
        print_shown(stdout, "%s is answered in audits as of %s or later, unless it is there again.", answering->finding,
                    day_text(answering->arena, row->closed_on).data);
    return true;
}

/* ---- the command ---- */

static bool answer(struct answering *answering)
{
    if (argument_flag(answering->arguments, "problem"))
        return open_action(answering);
    return argument_flag(answering->arguments, "close") ? close_action(answering) : verify_action(answering);
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    AUTO(folder) folder = NULL;
    AUTO(opened) opened = NULL;
    AUTO(lock) lock = NULL;
    AUTO(store) store = NULL;
    AUTO(arena) arena = arena_new();
    if (!check_options(arguments, fault) || !folder_open(&folder, argument_word(arguments, 0), fault))
        return STATUS_FAILED;
    const char *path = folder->store_path;
    if (!file_exists(path)) {
        fault_set(fault, FAULT_STORE,
                  "%s: there is no store yet: `assize audit` makes it and finds what is to be answered", path);
        return STATUS_FAILED;
    }
    /* A change that was cut off is settled first, which takes the lock for itself. */
    if (!opened_store(&store, path, STORE_READ, fault))
        return STATUS_FAILED;
    store_free(store);
    store = NULL;
    /* The logs are listed behind the lock: another answer may make the log of actions until then. */
    if (!lock_take(&lock, path, fault) || !opened_read(&opened, argument_word(arguments, 0), fault) ||
        !store_open(&store, path, STORE_READ, fault))
        return STATUS_FAILED;
    struct answering answering = {.arguments = arguments,
                                  .opened = opened,
                                  .store = store,
                                  .arena = arena,
                                  .finding = argument_word(arguments, 1),
                                  .fault = fault};
    bool done = answer(&answering);
    actions_log_free(answering.log);
    return done ? STATUS_DONE : STATUS_FAILED;
}

const struct command command_answer = {
    .name = "answer",
    .for_whom = "site lead",
    .usage = "DIR FINDING",
    .summary = "writes a corrective action for a finding to the actions log, closes it, or enters who verified it",
    .example = "assize answer sample-site F-GZPWR9QWFD --problem 'Code chip of the old lot' --owner OP-3",
    .options = options,
    .words_least = 2,
    .words_most = 2,
    .run = run,
};
