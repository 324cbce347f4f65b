/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a site looked like in a period, for pictures and for the pages that show a site: days of each analyzer,
 * controls, lots, codes, operators, volumes. Plain data taken from the history that the rules were judged by; it
 * decides nothing. All memory belongs to the arena that is given; absent texts have data == NULL, absent dates are
 * DAY_ABSENT. */
#ifndef ASSIZE_FINDINGS_PORTRAIT_H
#define ASSIZE_FINDINGS_PORTRAIT_H

#include "findings/finding.h"
#include "timeline/history.h"

struct portrait_day {
    uint32_t tests, controls_good, controls_failed, controls_unjudged;
    uint32_t levels_good; /* of the levels of the analyzer's method, those with a good control that day */
    uint32_t cleanings;   /* entries of the task `daily` */
    bool is_open;         /* the site's open_days without closed_on */
};

struct portrait_analyzer {
    struct text analyzer, method; /* the method of most of its tests in the period, else of its latest row */
    day_number in_service_on, retired_on;
    bool cleaned_daily;        /* its method asks for it */
    bool controls;             /* its method has controls */
    bool controls_daily;       /* a clause of it asks for them each day */
    uint32_t level_count;      /* of its method */
    struct portrait_day *days; /* portrait.day_count of them, from portrait.from on */
};

struct portrait_control {
    moment at;
    struct text performed_at, result, control_lot, lot; /* as recorded; lot: the reagent lot */
    bool has_number, has_z;
    double number, z; /* z: (number - mean) / sd of its control lot and level */
    enum control_state state;
    struct record_place place;
};

/* The controls of a level on an analyzer and method in the period, numeric or words, in time order. Limits are those of
 * each control's own lot; here the first one's are repeated for the axis. */
struct portrait_series {
    struct text analyzer, method, level, unit;
    struct portrait_control *controls;
    size_t control_count;
    struct portrait_lot_limits { /* in the order of first use in the series */
        struct text control_lot;
        bool has_mean, has_low,
            has_high; /* low and high: as control state is judged, from the log or mean ± limit_sd */
        double mean, sd, low, high;
    } * limits;
    size_t limit_count;
};

struct portrait_lot {
    struct text lot, method, level, code; /* level: of a control lot */
    bool is_control;
    day_number received_on, expires_on, discarded_on;
    day_number *opened_on; /* in order */
    size_t opening_count;
    day_number first_run_on, last_run_on; /* as a run's reagent or control lot, in the whole history up to as-of */
    uint64_t tests;                       /* in the period: patient tests on a reagent lot, controls on a control lot */
    struct record_place place;
};

struct portrait_code { /* an entry of the codes log, all up to as-of */
    struct text analyzer, code, lot;
    moment at;
    struct record_place place;
};

struct portrait_operator {
    struct text operator_, name, role;
    day_number started_on, left_on;
    uint64_t tests; /* in the period */
    struct portrait_training {
        struct text method, event, outcome, assessor; /* event: initial, competency, retraining */
        day_number held_on;
        /* Last day that competency lasts if nothing follows, by the rule that asks for it; DAY_ABSENT if an assessment
         * of that day failed, or no rule asks. portrait_new leaves it absent; the audit fills it in. */
        day_number good_until;
        struct record_place place;
    } * trainings; /* by method, then date */
    size_t training_count;
};

struct portrait_volume { /* a method of the menu, or one with tests in the period */
    struct text method, analyte;
    bool on_menu, waived;
    uint64_t tests, controls;
};

enum { PORTRAIT_MONTHS = 12 };

struct portrait {
    day_number from, to, as_of;
    size_t day_count;
    /* From site.yaml. */
    struct text director, certificate_number, certificate_kind;
    day_number certificate_issued_on, certificate_expires_on;

    struct portrait_volume *volumes; /* by method */
    size_t volume_count;
    struct portrait_analyzer *analyzers; /* by analyzer; those in service or with runs in the period */
    size_t analyzer_count;
    struct portrait_series *series; /* by analyzer, method, level in the order of the method file */
    size_t series_count;
    struct portrait_lot *lots; /* by method, reagents first, then received_on; those in use, open or in date in the
                                  period */
    size_t lot_count;
    struct portrait_code *codes; /* by time */
    size_t code_count;
    struct portrait_operator *operators; /* by operator; those of the site up to as-of who have not left before from */
    size_t operator_count;
    struct finding_answer *actions; /* by opened_on, action; all up to as-of */
    size_t action_count;
    struct audit_month months[PORTRAIT_MONTHS]; /* up to that of `to`, this audit included; filled by the audit */
};

struct portrait *portrait_new(const struct history *history, day_number from, day_number to, struct arena *arena);

/* good_until of a training, for months in force (history_competency decides). */
day_number portrait_good_until(const struct history *history, struct text operator_,
                               const struct portrait_training *training, int months, int first_year_months);

#endif
