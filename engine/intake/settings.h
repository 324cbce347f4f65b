/* SPDX-License-Identifier: GPL-3.0-or-later */
/* site.yaml, program.yaml and methods/NAME.yaml as typed settings. All YAML scalars are read as text and typed by their
 * key; duplicate keys, aliases and anchors are errors; every message says `file:line: key: reason`. Memory: one arena a
 * settings set; all pointers live as long as it. Absent texts have data == NULL. */
#ifndef ASSIZE_INTAKE_SETTINGS_H
#define ASSIZE_INTAKE_SETTINGS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/calendar.h"
#include "base/digest.h"
#include "base/fault.h"
#include "base/text.h"
#include "intake/folder.h"

/* Who asks for it. The names are in duty_name(). */
enum duty { DUTY_LAW, DUTY_INSERT, DUTY_POLICY, DUTY_ACCREDITOR, DUTY_PRACTICE, DUTY_COUNT };
const char *duty_name(enum duty duty);
bool duty_named(struct text name, enum duty *out);

/* A number as its file wrote it. present == false: absent. */
struct setting_number {
    bool present;
    double number;    /* decimal_double() */
    struct text text; /* as written */
};

enum { MONTHS_MOST = 1200 }; /* of any term: a century */

struct where {        /* the line a setting stands on, for evidence */
    struct text file; /* relative to the site folder ("site.yaml", "methods/x.yaml"), or "../../methods/x.yaml" for the
                         program's */
    uint32_t line;
};

enum clause_kind {
    CLAUSE_EACH_DAY,
    CLAUSE_EACH_LOT,
    CLAUSE_EACH_OPERATOR,
    CLAUSE_EVERY_DAYS,
    CLAUSE_EVERY_TESTS,
    CLAUSE_AFTER
};

struct control_clause {
    enum clause_kind kind;
    int64_t count;  /* N of every_days and every_tests */
    unsigned after; /* CLAUSE_AFTER: bit n is set for the n-th word of maintenance.event */
    enum duty by;
    struct text name; /* "each day", "each lot", "each operator", "every 30 days", "every 50 tests", "after" */
    struct where where;
};

struct periodic_task {
    struct text name; /* "weekly" */
    int64_t days;
};

struct method_settings {
    struct text method, analyte, loinc, unit;
    bool waived;
    struct text *also_units, *words;
    size_t also_unit_count, word_count;
    struct setting_number reportable_low, reportable_high;
    struct setting_number follow_up_low, follow_up_high, follow_up_within_minutes;
    struct setting_number allowable_percent, allowable_absolute;
    struct setting_number max_specimen_minutes, run_seconds;
    bool coded; /* coding: chip */
    struct setting_number open_life_days;
    struct text storage, room; /* places */
    bool has_controls;
    struct text *levels;
    size_t level_count;
    struct setting_number limit_sd; /* 2 where absent */
    struct setting_number max_cv_percent, max_bias_percent;
    bool has_multirule;
    struct text *multirule;
    size_t multirule_count;
    struct control_clause *clauses;
    size_t clause_count;
    bool has_cleaning, cleaning_daily;
    enum duty cleaning_by; /* insert where absent */
    struct periodic_task *tasks;
    size_t task_count;
    bool has_lot_check;
    enum duty lot_check_by; /* practice where absent */
    struct setting_number lot_check_specimens, lot_check_max_mean_difference_percent;
    bool competency_initial; /* true where absent */
    struct setting_number competency_every_months, competency_first_year_months, competency_techniques;
    bool has_comparison;
    struct setting_number comparison_events_per_year;
    struct setting_number procedure_review_months;
    struct where where;   /* the file, line 1 */
    struct setting_line { /* every key of the file by its full name: "competency.every_months", for rule parameters */
        struct text key, value;
        uint32_t line;
    } * lines;
    size_t line_count;
};

struct site_change {
    struct text what;
    day_number on, notified_on; /* DAY_ABSENT: not notified */
    struct where where;
};

struct place_settings {
    struct text place;
    struct setting_number low, high, humidity_high, readings_per_open_day;
    struct where where;
};

/* policy: RULE: {PARAMETER: value} or RULE: {off: reason} */
struct policy_entry {
    struct text rule;
    bool off;
    struct text reason;
    struct policy_value {
        struct text name, value;
        struct where where;
    } * values;
    size_t value_count;
    struct where where;
};

struct policy {
    struct policy_entry *entries;
    size_t count;
};

struct excuse {
    struct text finding, reason;
    struct where where;
};

struct site_settings {
    struct text site, name, director;
    bool has_certificate;
    struct text certificate_number, certificate_kind;
    day_number certificate_issued_on, certificate_expires_on; /* DAY_ABSENT */
    struct where certificate_where, where;
    struct site_change *changes;
    size_t change_count;
    int day_starts_at;  /* seconds after midnight */
    unsigned open_days; /* bit 0 Monday … bit 6 Sunday */
    day_number *closed_on;
    size_t closed_count;
    struct place_settings *places;
    size_t place_count;
    struct text *menu;
    size_t menu_count;
    struct where menu_where; /* line 0: there is no menu */
    struct policy policy;
    struct excuse *excused;
    size_t excused_count;
    struct method_settings *methods; /* the site's own and the program's, in the byte order of their names */
    size_t method_count;
    struct named_digest *files; /* that it was read from, as settings_files names them */
    size_t file_count;
    struct text *warnings; /* `file:line: key: reason`: what is no error and cannot be meant: see doubts.c */
    size_t warning_count;
};

struct program_settings {
    struct text program, name; /* absent for a lone site folder */
    struct policy policy;
    struct named_digest file; /* program.yaml */
};

const struct method_settings *settings_method(const struct site_settings *site, struct text method); /* NULL */
/* By open_days and closed_on. */
bool settings_open_on(const struct site_settings *site, day_number day);
/* Takes "../../" from the front of a file of the program's, as `struct where` has it; false if it is the site's own. */
bool settings_of_program(struct text *file);
const struct setting_line *settings_line(const struct method_settings *method, const char *key); /* NULL */

/* Each is false with the first error as fault, `file:line: key: reason`. */
bool settings_read_program(const struct folder *folder, struct arena *arena, struct program_settings *out,
                           struct fault *fault);
/* The same from texts, for examples in rule files: first site.yaml, then the method files. */
struct settings_source {
    const char *shown; /* in messages; of a method file it ends with methods/NAME.yaml */
    const char *file;  /* in evidence, relative to the site folder */
    const char *bytes;
    size_t size;
};
bool settings_parse_site(const struct settings_source *sources, size_t count, struct arena *arena,
                         struct site_settings *out, struct fault *fault);
bool settings_read_site(const struct folder *folder, const struct site_place *place, struct arena *arena,
                        struct site_settings *out, struct fault *fault);

/* The files that the settings of all sites of a folder are read from, as they are now, by name: "program.yaml",
 * "methods/strip.yaml", "sites/NAME/site.yaml"; of a lone site folder "site.yaml". A site whose files cannot be read
 * has none. */
struct named_digest *settings_files(const struct folder *folder, struct arena *arena, size_t *count);

#endif
