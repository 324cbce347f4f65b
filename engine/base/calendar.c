/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/calendar.h"

#include <stddef.h>

enum { FIRST_YEAR = 2000, LAST_YEAR = 2099, SECONDS_OF_DAY = 86400 };

/* Hinnant's eras are 400 years long and begin on 1 March, so that the leap day is an era's last. Ours begins on
 * 2000-03-01, which is day 60. */
enum { ERA_DAYS = 146097, ERA_YEARS = 400, ERA_FIRST_DAY = 60 };

static int floor_divide(int64_t a, int b) { return (int)(a >= 0 ? a / b : -((-a + b - 1) / b)); }

struct civil day_civil(day_number day)
{
    int64_t since = (int64_t)day - ERA_FIRST_DAY;
    int era = floor_divide(since, ERA_DAYS);
    int day_of_era = (int)(since - (int64_t)era * ERA_DAYS);
    int year_of_era = (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
    int day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    int march_month = (5 * day_of_year + 2) / 153; /* 0 March … 11 February */
    struct civil civil = {
        .year = FIRST_YEAR + era * ERA_YEARS + year_of_era + (march_month >= 10),
        .month = march_month < 10 ? march_month + 3 : march_month - 9,
        .day = day_of_year - (153 * march_month + 2) / 5 + 1,
    };
    return civil;
}

static day_number civil_day(struct civil civil)
{
    int since = civil.year - FIRST_YEAR - (civil.month <= 2);
    int era = floor_divide(since, ERA_YEARS);
    int year_of_era = since - era * ERA_YEARS;
    int march_month = civil.month > 2 ? civil.month - 3 : civil.month + 9;
    int day_of_year = (153 * march_month + 2) / 5 + civil.day - 1;
    int day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    return ERA_FIRST_DAY + era * ERA_DAYS + day_of_era;
}

static int month_length(int year, int month)
{
    static const signed char lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    return month == 2 && leap ? 29 : lengths[month - 1];
}

static bool is_real(struct civil civil)
{
    return civil.month >= 1 && civil.month <= 12 && civil.day >= 1 &&
           civil.day <= month_length(civil.year, civil.month);
}

static bool is_in_range(int year) { return year >= FIRST_YEAR && year <= LAST_YEAR; }

bool day_from_civil(struct civil civil, day_number *out)
{
    if (!is_in_range(civil.year) || !is_real(civil))
        return false;
    *out = civil_day(civil);
    return true;
}

int day_of_week(day_number day)
{
    int64_t since_monday = (int64_t)day + 5; /* 2000-01-01 was a Saturday */
    return (int)(since_monday - 7 * (int64_t)floor_divide(since_monday, 7));
}

day_number day_add_months(day_number day, int months)
{
    if (day == DAY_ABSENT)
        return DAY_ABSENT;
    struct civil civil = day_civil(day);
    int month = civil.year * 12 + civil.month - 1 + months;
    civil.year = floor_divide(month, 12);
    civil.month = month - civil.year * 12 + 1;
    int length = month_length(civil.year, civil.month);
    civil.day = civil.day < length ? civil.day : length;
    return civil_day(civil);
}

static bool refuse(const char **why, const char *reason)
{
    if (why != NULL)
        *why = reason;
    return false;
}

/* The number of `count` digits at `from`, or negative if one of them is none. */
static int digits(const char *from, int count)
{
    int number = 0;
    for (int i = 0; i < count; i++) {
        unsigned digit = (unsigned)(unsigned char)from[i] - '0';
        if (digit > 9)
            return -1;
        number = number * 10 + (int)digit;
    }
    return number;
}

/* The ten characters at `from` as a day; `shape` is the reason given if they do not even look like one. */
static bool parse_day_at(const char *from, day_number *out, const char **why, const char *shape)
{
    struct civil civil = {digits(from, 4), digits(from + 5, 2), digits(from + 8, 2)};
    if ((civil.year | civil.month | civil.day) < 0 || from[4] != '-' || from[7] != '-')
        return refuse(why, shape);
    if (!is_real(civil))
        return refuse(why, "not a real calendar date");
    if (!is_in_range(civil.year))
        return refuse(why, "outside 2000 to 2099");
    *out = civil_day(civil);
    return true;
}

bool day_parse(struct text text, day_number *out, const char **why)
{
    static const char shape[] = "expected YYYY-MM-DD";
    if (text.size != 10)
        return refuse(why, shape);
    return parse_day_at(text.data, out, why, shape);
}

bool moment_parse(struct text text, moment *out, const char **why)
{
    static const char shape[] = "expected YYYY-MM-DD HH:MM";
    const char *from = text.data;
    bool had_seconds = text.size == 19;
    if ((text.size != 16 && !had_seconds) || (from[10] != ' ' && from[10] != 'T') || from[13] != ':' ||
        (had_seconds && from[16] != ':'))
        return refuse(why, shape);
    int hour = digits(from + 11, 2), minute = digits(from + 14, 2), second = had_seconds ? digits(from + 17, 2) : 0;
    if ((hour | minute | second) < 0)
        return refuse(why, shape);
    day_number day;
    if (!parse_day_at(from, &day, why, shape))
        return false;
    if (hour > 23 || minute > 59 || second > 59)
        return refuse(why, "not a time of day");
    *out = moment_make((int64_t)day * SECONDS_OF_DAY + hour * 3600 + minute * 60 + second, had_seconds);
    return true;
}

static char *print_digits(char *to, int number, int count)
{
    for (int i = count - 1; i >= 0; i--, number /= 10)
        to[i] = (char)('0' + number % 10);
    return to + count;
}

void day_print(day_number day, char out[DAY_TEXT_SIZE])
{
    *out = '\0';
    if (day == DAY_ABSENT)
        return;
    struct civil civil = day_civil(day);
    out = print_digits(out, civil.year, 4);
    *out++ = '-';
    out = print_digits(out, civil.month, 2);
    *out++ = '-';
    out = print_digits(out, civil.day, 2);
    *out = '\0';
}

void moment_print(moment at, char out[MOMENT_TEXT_SIZE])
{
    *out = '\0';
    if (at == MOMENT_ABSENT)
        return;
    day_number day = moment_day(at, 0);
    int second = (int)(moment_seconds(at) - (int64_t)day * SECONDS_OF_DAY);
    day_print(day, out);
    out += DAY_TEXT_SIZE - 1;
    *out++ = ' ';
    out = print_digits(out, second / 3600, 2);
    *out++ = ':';
    out = print_digits(out, second / 60 % 60, 2);
    if (moment_had_seconds(at)) {
        *out++ = ':';
        out = print_digits(out, second % 60, 2);
    }
    *out = '\0';
}

int moment_compare(moment a, moment b)
{
    int64_t first = moment_seconds(a), second = moment_seconds(b);
    if (!moment_had_seconds(a) || !moment_had_seconds(b)) {
        first -= first % 60;
        second -= second % 60;
    }
    return (first > second) - (first < second);
}

day_number moment_day(moment at, int starts_at) { return floor_divide(moment_seconds(at) - starts_at, SECONDS_OF_DAY); }
