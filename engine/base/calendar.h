/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Civil dates and times of the proleptic Gregorian calendar, 2000-01-01 to 2099-12-31: a site's own wall clock, no
 * zones.
 *
 * A day is a count of days, 2000-01-01 = 0. A moment is seconds since 2000-01-01 00:00:00, times two, plus one if the
 * text had seconds: so moments sort in time, and how they were written is kept. Formula of day numbers: Howard Hinnant,
 * "chrono-Compatible Low-Level Date Algorithms" (public domain), moved to our first day. */
#ifndef ASSIZE_BASE_CALENDAR_H
#define ASSIZE_BASE_CALENDAR_H

#include <stdbool.h>
#include <stdint.h>

#include "base/text.h"

typedef int32_t day_number;
typedef int64_t moment;

enum { DAY_ABSENT = INT32_MIN, DAY_LAST = 36524 /* 2099-12-31 */ };
#define MOMENT_ABSENT ((moment)-1)

struct civil {
    int year, month, day;
};

struct civil day_civil(day_number day);
bool day_from_civil(struct civil civil, day_number *out); /* false: no such date, or out of range */
int day_of_week(day_number day);                          /* 0 Monday … 6 Sunday */
day_number day_add_months(day_number day,
                          int months); /* clipped to the month's end: 31 January + 1 = 28 or 29 February */

/* Exactly `YYYY-MM-DD`; `YYYY-MM-DD HH:MM[:SS]` with a blank or `T` between. On failure false and, if not NULL, why. */
bool day_parse(struct text text, day_number *out, const char **why);
bool moment_parse(struct text text, moment *out, const char **why);

enum { DAY_TEXT_SIZE = 11, MOMENT_TEXT_SIZE = 20 };
void day_print(day_number day, char out[DAY_TEXT_SIZE]);
void moment_print(moment at, char out[MOMENT_TEXT_SIZE]); /* seconds only if it had them; a blank as divider */

static inline moment moment_make(int64_t seconds, bool had_seconds) { return seconds * 2 + (had_seconds ? 1 : 0); }
static inline int64_t moment_seconds(moment at) { return at >> 1; }
static inline bool moment_had_seconds(moment at) { return at & 1; }

/* Order of an entry against a run: by the minute where either has no seconds, else by the second.
 * -1 earlier, 0 the same minute (or second), +1 later. */
int moment_compare(moment a, moment b);

/* The testing day that a moment lies in, where a day starts `starts_at` seconds after midnight (0 to 86,399). */
day_number moment_day(moment at, int starts_at);

#endif
