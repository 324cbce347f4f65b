/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The store: one SQLite file, assize.db, that holds the records as the logs now say them and remembers what they once
 * said.
 *
 * The schema is generated from the table of kinds: a table a kind with the current version of each record, clustered by
 * site and time; the versions that were amended or withdrawn stand in one history table. Numbered migrations (PRAGMA
 * user_version). Every version keeps its file, line and load. All SQL is in this room.
 *
 * A handle belongs to one thread at a time. One process writes at a time: opening for writing takes the lock for the
 * whole life of the handle, and another writer is told who holds it. Nothing is changed before a load commits. */
#ifndef ASSIZE_STORE_STORE_H
#define ASSIZE_STORE_STORE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/calendar.h"
#include "base/digest.h"
#include "base/fault.h"
#include "base/text.h"
#include "intake/folder.h"
#include "records/cell.h"
#include "records/kinds.h"

enum store_mode {
    STORE_WRITE, /* makes the file if there is none, migrates it, holds the lock */
    STORE_READ,  /* the file must be there; nothing is written */
};

struct store;
bool store_open(struct store **out, const char *path, enum store_mode mode, struct fault *fault);
void store_free(struct store *store);
OWNER(store);

const char *store_path(const struct store *store);

/* By another program, since assize wrote to it last. Such a store opens for writing only if its chain is whole; whoever
 * reads it should be told. */
bool store_was_edited(const struct store *store);

/* When it was opened there stood a change that had been cut off, and it was taken back: whoever gave that command, or
 * put an old journal beside the file, must know. */
bool store_took_back(const struct store *store);

/* Whoever only reads takes no lock, and does so in several steps: a fault if anybody wrote since the store was opened,
 * for what was read is neither what it held before nor what it holds now. */
bool store_stayed(struct store *store, struct fault *fault);

/* The names of all interned ids, read once at opening and grown by loads; borrowed. */
struct names *store_names(struct store *store);

/* The chain's head after the last load: hex, or 64 zeros before the first. */
void store_head(const struct store *store, char out[DIGEST_HEX_SIZE]);

/* The day of the last load that changed anything; DAY_ABSENT before the first. */
day_number store_loaded_on(const struct store *store);

/* ---- reading a site ---- */

struct stored_row {
    /* kind->column_count of them. Ids have `whole` = name, and text; yes/no and words have both too; dates, times and
     * whole numbers have no text (day_print, moment_print). Texts borrow until the next row. */
    const struct cell *cells;
    uint32_t file; /* name (names table) of the path relative to the site folder */
    uint32_t line;
};
typedef void stored_row_function(void *context, const struct stored_row *row);

/* The current records of a kind at a site: kinds whose event is a time in the order of that (moment value), the other
 * kinds in the order of file path and line. */
bool store_read(struct store *store, struct text site, const struct record_kind *kind, stored_row_function *row,
                void *context, struct fault *fault);

/* How many there are (for sizing arrays). */
bool store_count(struct store *store, struct text site, const struct record_kind *kind, uint64_t *out,
                 struct fault *fault);

/* Each operator once who ran a test or control at the site, as a name, in no order. */
typedef void stored_operator_function(void *context, uint32_t operator_);
bool store_operators(struct store *store, struct text site, stored_operator_function *function, void *context,
                     struct fault *fault);

/* The specimens of all versions that tests and lot checks of the site have had, also of those withdrawn: first those of
 * today, in the order of their bytes; some more than once. */
typedef void stored_specimen_function(void *context, struct text specimen);
bool store_specimens(struct store *store, struct text site, stored_specimen_function *function, void *context,
                     struct fault *fault);

/* Each site that a load brought something of, in no order. */
typedef void stored_site_function(void *context, struct text site);
bool store_sites(struct store *store, stored_site_function *function, void *context, struct fault *fault);

/* The log files of a site as of the latest load. */
struct stored_file {
    struct text path;
    const struct record_kind *kind; /* NULL: the name fits no kind */
    uint64_t rows;                  /* rows read, refused ones included; blank lines are none */
    struct text refused;            /* why the file as a whole was refused; absent if it was read */
};
typedef void stored_file_function(void *context, const struct stored_file *file);
bool store_files(struct store *store, struct text site, stored_file_function *function, void *context,
                 struct fault *fault);

/* The rows refused in the latest load, in the order of path and line. */
struct stored_refusal {
    struct text path;
    uint32_t line;
    const struct record_kind *kind;
    struct text column, value, reason; /* column and value may be absent */
    bool to_end;                       /* nothing that follows it in the file could be read */
    uint32_t analyzer;                 /* name, of a refused run whose analyzer could be read; else 0 */
    bool has_sequence;                 /* of a refused run whose sequence could be read */
    int64_t sequence;
    moment at; /* of a refused row whose event could be read (a date: its midnight); else MOMENT_ABSENT */
};
typedef void stored_refusal_function(void *context, const struct stored_refusal *refusal);
bool store_refusals(struct store *store, struct text site, stored_refusal_function *function, void *context,
                    struct fault *fault);

/* What loads changed afterwards: the latest amendment of each record, and each withdrawal, in the order of kind and
 * key. */
struct stored_change {
    const struct record_kind *kind;
    bool withdrawn;  /* else amended */
    struct text key; /* "lots L1 hba1c-strip reagent": the kind and the key's cells as recorded, absent ones left out */
    moment at;       /* its event (a date: its midnight): of the new version, or of the withdrawn one; MOMENT_ABSENT */
    day_number loaded_on; /* the day of the load that changed it */
    bool noted;           /* the new version has a note, and it is another than before */
    struct text test;     /* the test's id, where it is one */
    struct text path;
    uint32_t line;
};
typedef void stored_change_function(void *context, const struct stored_change *change);
bool store_changes(struct store *store, struct text site, stored_change_function *function, void *context,
                   struct fault *fault);

/* ---- audits kept ---- */

struct audit_key {
    day_number from, to, as_of;
};
struct audit_sum { /* of a site that was judged */
    struct text site;
    uint64_t tests, vouched; /* patient tests of the period, and those that no finding doubts */
};
struct kept_finding { /* a finding of an audit; rule, subject and state are absent in audits of schema 1 and 2 */
    struct text number, site;
    struct text rule;
    struct text subject; /* the same for all findings of one rule, site and subject, whenever they begin */
    struct text state;   /* "new", "known", "answered", "excused" */
    day_number first_day,
        last_day; /* of the period, on which it was judged; DAY_ABSENT of states and before schema 5 */
};
/* Keeps what an audit found, in place of an earlier audit of the same period and as-of. */
bool store_keep_audit(struct store *store, const struct audit_key *key, const struct kept_finding *findings,
                      size_t count, const struct audit_sum *sums, size_t sum_count, struct fault *fault);

/* What audits of an earlier as-of knew of a number. */
struct finding_past {
    bool found;             /* by one of them */
    day_number first_as_of; /* of the earliest that did */
};
bool store_finding_past(struct store *store, const char *number, day_number as_of, struct finding_past *out,
                        struct fault *fault);
/* The as-of of the earliest audit of an earlier as-of that had it excused; DAY_ABSENT: none had. */
bool store_first_excused(struct store *store, const char *number, day_number as_of, day_number *out,
                         struct fault *fault);
/* A number as the audit kept last that found it has it; false in *there if none did. Texts are kept in the arena. */
bool store_kept_finding(struct store *store, const char *number, struct arena *arena, struct kept_finding *out,
                        bool *there, struct fault *fault);
/* The audit before: of those with an earlier as-of than `key` the latest (then the one kept last), of the same period
 * only if asked for. */
bool store_audit_before(struct store *store, const struct audit_key *key, bool same_period, struct audit_key *out,
                        bool *there, struct fault *fault);
/* The findings of an audit, by site, rule, number. Texts borrow until the next one. */
typedef void kept_finding_function(void *context, const struct kept_finding *finding);
bool store_audit_findings(struct store *store, const struct audit_key *key, kept_finding_function *function,
                          void *context, struct fault *fault);

/* The findings of audits kept that were judged on one of these days, of each day and site as the latest audit that
 * looked at it found them; some perhaps twice. Those of schemas before 5 have no days. */
bool store_findings_of_days(struct store *store, day_number first, day_number last, kept_finding_function *function,
                            void *context, struct fault *fault);

struct audit_month {
    day_number from; /* first day of a calendar month */
    bool audited;    /* else nothing is known of it */
    uint64_t tests, vouched;
};
/* Fills the months (whose `from` is given) with what the audit kept last of exactly that month says of the site. */
bool store_trend(struct store *store, struct text site, struct audit_month *months, size_t count, struct fault *fault);
/* The audit kept last; false in *there if there is none. */
bool store_last_audit(struct store *store, struct audit_key *out, bool *there, struct fault *fault);

/* ---- the chain ---- */

struct chain_report {
    uint64_t loads;    /* that were checked */
    uint64_t versions; /* of records, current and past */
    bool whole;
    char first_break[512]; /* in words: which load, site and kind do not fit, or which table was changed */
};
/* Recomputes the chain from the first load. False only if the store cannot be read. */
bool store_verify(struct store *store, struct chain_report *out, struct fault *fault);
/* Whether the chain had this head (hex) after one of its loads: a report names the head that it was made from. */
bool store_had_head(struct store *store, const char *head, bool *out, struct fault *fault);

#endif
