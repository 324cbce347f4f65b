/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _DEFAULT_SOURCE /* timegm */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/calendar.h"

/* Source: the C library's gmtime_r and timegm, which have another algorithm (glibc time/offtime.c, time/timegm.c). */
Test(calendar, every_day_is_the_c_librarys_day)
{
    const time_t first = 946684800; /* 2000-01-01 00:00:00 UTC as POSIX counts, seconds since 1970 */
    for (day_number day = 0; day <= DAY_LAST; day++) {
        time_t at = first + (time_t)day * 86400;
        struct tm tm;
        gmtime_r(&at, &tm);
        struct civil civil = day_civil(day);
        cr_assert(civil.year == tm.tm_year + 1900 && civil.month == tm.tm_mon + 1 && civil.day == tm.tm_mday, "day %d",
                  day);
        cr_assert_eq(day_of_week(day), (tm.tm_wday + 6) % 7, "day %d", day);

        day_number back;
        cr_assert(day_from_civil(civil, &back) && back == day, "day %d", day);
        struct tm civil_tm = {.tm_year = civil.year - 1900, .tm_mon = civil.month - 1, .tm_mday = civil.day};
        cr_assert_eq(timegm(&civil_tm), at, "day %d", day);

        char written[DAY_TEXT_SIZE], expected[64];
        day_print(day, written);
        strftime(expected, sizeof expected, "%Y-%m-%d", &tm);
        cr_assert_str_eq(written, expected);
        cr_assert(day_parse(text_of(expected), &back, NULL) && back == day, "%s", expected);
    }
}

/* Source: RFC 3339, appendix B gives Zeller's congruence as code for the day of the week, 0 Sunday. */
static int zeller(int day, int month, int year)
{
    month -= 2;
    if (month < 1) {
        month += 12;
        --year;
    }
    int century = year / 100;
    year %= 100;
    return ((26 * month - 2) / 10 + day + year + year / 4 + century / 4 + 5 * century) % 7;
}

Test(calendar, weekdays_agree_with_zellers_congruence)
{
    for (day_number day = 0; day <= DAY_LAST; day++) {
        struct civil civil = day_civil(day);
        cr_assert_eq((day_of_week(day) + 1) % 7, zeller(civil.day, civil.month, civil.year), "day %d", day);
    }
}

/* From memory: ISO 8601 names Monday the first day of the week and gives 2000-01-01 as a Saturday. The others follow by
 * counting: 365 days are 52 weeks and a day. */
Test(calendar, known_dates_fall_on_their_weekdays)
{
    static const struct {
        const char *date;
        int weekday;
    } rows[] = {{"2000-01-01", 5}, {"2001-01-01", 0}, {"2005-01-01", 5}, {"2007-01-01", 0},
                {"2008-12-29", 0}, {"2010-01-03", 6}, {"2000-02-29", 1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        day_number day = DAY_ABSENT;
        cr_expect(day_parse(text_of(rows[i].date), &day, NULL));
        cr_expect_eq(day_of_week(day), rows[i].weekday, "%s", rows[i].date);
    }
}

Test(calendar, days_outside_the_range_are_still_dates)
{
    cr_expect_eq(day_civil(-1).year, 1999);
    cr_expect_eq(day_civil(-1).day, 31);
    cr_expect_eq(day_civil(DAY_LAST + 1).year, 2100);
    cr_expect_eq(day_of_week(-1), 4); /* a Friday before a Saturday */
    day_number day;
    cr_expect_not(day_from_civil((struct civil){1999, 12, 31}, &day));
    cr_expect_not(day_from_civil((struct civil){2100, 1, 1}, &day));
    cr_expect_not(day_from_civil((struct civil){2026, 2, 29}, &day));
    cr_expect_not(day_from_civil((struct civil){2026, 0, 1}, &day));
    char written[DAY_TEXT_SIZE];
    day_print(DAY_ABSENT, written);
    cr_expect_str_empty(written);
}

Test(calendar, what_is_no_date_is_refused_with_its_reason)
{
    static const struct {
        const char *text, *why;
    } rows[] = {
        {"2026-02-29", "not a real calendar date"}, {"2026-13-01", "not a real calendar date"},
        {"2026-00-10", "not a real calendar date"}, {"2026-04-31", "not a real calendar date"},
        {"2026-04-00", "not a real calendar date"}, {"1900-02-29", "not a real calendar date"},
        {"1999-12-31", "outside 2000 to 2099"},     {"2100-01-01", "outside 2000 to 2099"},
        {"2026-1-01", "expected YYYY-MM-DD"},       {"2026-01-1", "expected YYYY-MM-DD"},
        {"26-01-2001", "expected YYYY-MM-DD"},      {"2026/01/01", "expected YYYY-MM-DD"},
        {"2026-01-0a", "expected YYYY-MM-DD"},      {"+026-01-01", "expected YYYY-MM-DD"},
        {"2026-01-01 ", "expected YYYY-MM-DD"},     {"", "expected YYYY-MM-DD"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        day_number day = 77;
        const char *why = "";
        cr_expect_not(day_parse(text_of(rows[i].text), &day, &why), "%s", rows[i].text);
        cr_expect_str_eq(why, rows[i].why, "%s: %s", rows[i].text, why);
        cr_expect_eq(day, 77);
    }
    cr_expect_not(day_parse(text_of(NULL), &(day_number){0}, NULL));
}

Test(calendar, months_are_added_and_clipped_to_the_months_end)
{
    static const struct {
        const char *from;
        int months;
        const char *to;
    } rows[] = {
        {"2026-01-31", 1, "2026-02-28"},  {"2028-01-31", 1, "2028-02-29"},  {"2026-08-31", 6, "2027-02-28"},
        {"2026-10-15", 12, "2027-10-15"}, {"2028-02-29", 12, "2029-02-28"}, {"2028-02-29", 48, "2032-02-29"},
        {"2026-03-31", -1, "2026-02-28"}, {"2026-01-15", -1, "2025-12-15"}, {"2026-12-31", 2, "2027-02-28"},
        {"2026-05-05", 0, "2026-05-05"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        day_number from = DAY_ABSENT;
        char to[DAY_TEXT_SIZE];
        cr_expect(day_parse(text_of(rows[i].from), &from, NULL));
        day_print(day_add_months(from, rows[i].months), to);
        cr_expect_str_eq(to, rows[i].to, "%s + %d: %s", rows[i].from, rows[i].months, to);
    }
    cr_expect_eq(day_add_months(DAY_ABSENT, 1), DAY_ABSENT);
}

Test(calendar, moments_are_read_and_printed_as_written)
{
    static const struct {
        const char *text, *printed;
    } rows[] = {
        {"2026-10-07 09:12", "2026-10-07 09:12"},       {"2026-10-07T09:12", "2026-10-07 09:12"},
        {"2026-10-07 09:12:00", "2026-10-07 09:12:00"}, {"2026-10-07T23:59:59", "2026-10-07 23:59:59"},
        {"2000-01-01 00:00", "2000-01-01 00:00"},       {"2099-12-31 23:59:59", "2099-12-31 23:59:59"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        moment at;
        char printed[MOMENT_TEXT_SIZE];
        cr_expect(moment_parse(text_of(rows[i].text), &at, NULL), "%s", rows[i].text);
        moment_print(at, printed);
        cr_expect_str_eq(printed, rows[i].printed);
        cr_expect_eq(moment_had_seconds(at), strlen(rows[i].text) == 19);
    }
    char printed[MOMENT_TEXT_SIZE];
    moment_print(MOMENT_ABSENT, printed);
    cr_expect_str_empty(printed);
}

/* Source: the C library's timegm. */
Test(calendar, every_minute_of_a_day_counts_as_in_the_c_library)
{
    struct tm tm = {.tm_year = 128, .tm_mon = 1, .tm_mday = 29};
    int64_t start = timegm(&tm) - 946684800;
    for (int second = 0; second < 86400; second += 7) {
        char text[64];
        moment at;
        snprintf(text, sizeof text, "2028-02-29 %02d:%02d:%02d", second / 3600, second / 60 % 60, second % 60);
        cr_assert(moment_parse(text_of(text), &at, NULL), "%s", text);
        cr_assert_eq(moment_seconds(at), start + second, "%s", text);
    }
}

Test(calendar, what_is_no_time_is_refused_with_its_reason)
{
    static const struct {
        const char *text, *why;
    } rows[] = {
        {"2026-10-07", "expected YYYY-MM-DD HH:MM"},
        {"2026-10-07 9:12", "expected YYYY-MM-DD HH:MM"},
        {"2026-10-07  09:12", "expected YYYY-MM-DD HH:MM"},
        {"2026-10-07t09:12", "expected YYYY-MM-DD HH:MM"},
        {"2026-10-07 09.12", "expected YYYY-MM-DD HH:MM"},
        {"2026-10-07 09:12:0", "expected YYYY-MM-DD HH:MM"},
        {"2026-10-07 09:12.00", "expected YYYY-MM-DD HH:MM"},
        {"2026-10-07 09:1a", "expected YYYY-MM-DD HH:MM"},
        {"2026-10-07 09:12:x0", "expected YYYY-MM-DD HH:MM"},
        {"2026_10-07 09:12", "expected YYYY-MM-DD HH:MM"},
        {"2026-10-07 09:12Z", "expected YYYY-MM-DD HH:MM"},
        {"", "expected YYYY-MM-DD HH:MM"},
        {"2026-10-07 24:00", "not a time of day"},
        {"2026-10-07 09:60", "not a time of day"},
        {"2026-10-07 09:12:60", "not a time of day"},
        {"2026-02-30 09:12", "not a real calendar date"},
        {"1999-12-31 09:12", "outside 2000 to 2099"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        moment at;
        const char *why = "";
        cr_expect_not(moment_parse(text_of(rows[i].text), &at, &why), "%s", rows[i].text);
        cr_expect_str_eq(why, rows[i].why, "%s: %s", rows[i].text, why);
    }
    cr_expect_not(moment_parse(text_of(NULL), &(moment){0}, NULL));
}

Test(calendar, moments_compare_by_the_minute_unless_both_have_seconds)
{
    static const struct {
        const char *a, *b;
        int order;
    } rows[] = {
        {"2026-10-07 09:12", "2026-10-07 09:12", 0},        {"2026-10-07 09:12", "2026-10-07 09:12:59", 0},
        {"2026-10-07 09:12:59", "2026-10-07 09:12", 0},     {"2026-10-07 09:12", "2026-10-07 09:13:00", -1},
        {"2026-10-07 09:13:00", "2026-10-07 09:12", 1},     {"2026-10-07 09:12:10", "2026-10-07 09:12:11", -1},
        {"2026-10-07 09:12:11", "2026-10-07 09:12:10", 1},  {"2026-10-07 09:12:10", "2026-10-07 09:12:10", 0},
        {"2026-10-07 23:59:59", "2026-10-08 00:00", -1},    {"2026-10-08 00:00", "2026-10-07 23:59", 1},
        {"2026-10-07 09:12:00", "2026-10-07 09:12:01", -1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        moment a, b;
        cr_assert(moment_parse(text_of(rows[i].a), &a, NULL) && moment_parse(text_of(rows[i].b), &b, NULL));
        cr_expect_eq(moment_compare(a, b), rows[i].order, "%s, %s", rows[i].a, rows[i].b);
    }
}

Test(calendar, a_testing_day_starts_at_its_own_hour)
{
    static const struct {
        const char *at;
        int starts_at;
        const char *day;
    } rows[] = {
        {"2026-10-07 00:00", 0, "2026-10-07"},           {"2026-10-07 23:59:59", 0, "2026-10-07"},
        {"2026-10-07 05:59:59", 6 * 3600, "2026-10-06"}, {"2026-10-07 06:00", 6 * 3600, "2026-10-07"},
        {"2026-03-01 05:00", 6 * 3600, "2026-02-28"},    {"2026-10-07 23:59:58", 86399, "2026-10-06"},
        {"2000-01-01 05:00", 6 * 3600, "1999-12-31"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        moment at;
        char day[DAY_TEXT_SIZE];
        cr_assert(moment_parse(text_of(rows[i].at), &at, NULL));
        day_print(moment_day(at, rows[i].starts_at), day);
        cr_expect_str_eq(day, rows[i].day, "%s from %d: %s", rows[i].at, rows[i].starts_at, day);
    }
}
