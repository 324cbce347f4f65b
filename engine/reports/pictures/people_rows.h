/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the picture of people shows, as data: a row an operator and method, with how they stand at as-of. */
#ifndef ASSIZE_REPORTS_PICTURES_PEOPLE_ROWS_H
#define ASSIZE_REPORTS_PICTURES_PEOPLE_ROWS_H

#include "findings/portrait.h"

enum person_state {                   /* worst first */
                    PERSON_UNTRAINED, /* has tests, but no assessment is on the log */
                    PERSON_FAILED,    /* the latest assessment */
                    PERSON_OVER,      /* competency has run out */
                    PERSON_SOON,      /* runs out within SOON_DAYS of as-of */
                    PERSON_GOOD,
                    PERSON_UNASKED, /* no rule asks for yearly assessments */
                    PERSON_LEFT,
};
enum { SOON_DAYS = 60 };

struct person_row {
    const struct portrait_operator *operator_;
    struct text method;                        /* absent of those without any training */
    const struct portrait_training *trainings; /* for the method */
    size_t count;
    enum person_state state;
    day_number latest_on;            /* the latest assessment; DAY_ABSENT */
    day_number until;                /* last good day of the latest pass; DAY_ABSENT */
    day_number lapse_from, lapse_to; /* the first days in the period without competency between two assessments */
    struct text says;                /* how they stand */
};

struct person_span { /* days of competency that follow a pass */
    day_number from, to;
    bool cut; /* another assessment came before its own last day */
};
/* The span that the training at `i` begins; false if it begins none. */
bool person_span(const struct person_row *row, size_t i, struct person_span *out);

/* By method, then operator. *left_out: how many were taken out of the list, the worst being kept. */
struct person_row *person_rows(struct arena *arena, const struct portrait *portrait, size_t most, size_t *count,
                               size_t *left_out);

#endif
