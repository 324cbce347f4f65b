/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "records/decimal.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

static size_t digits_at(const char *at, const char *end)
{
    const char *from = at;
    while (at < end && is_digit(*at))
        at++;
    return (size_t)(at - from);
}

bool decimal_valid(struct text text)
{
    const char *at = text.data, *end = text.data + text.size;
    if (at < end && (*at == '+' || *at == '-'))
        at++;
    size_t whole = digits_at(at, end);
    at += whole;
    if (at == end)
        return whole > 0;
    if (*at != '.')
        return false;
    size_t fraction = digits_at(at + 1, end);
    return fraction > 0 && at + 1 + fraction == end;
}

/* A valid numeral in its parts: no zeros before the whole part, none after the fraction, no sign at zero. */
struct parts {
    bool negative;
    struct text whole, fraction;
};

static struct parts parts_of(struct text text)
{
    const char *at = text.data, *end = text.data + text.size;
    struct parts parts = {.negative = at < end && *at == '-'};
    if (at < end && (*at == '+' || *at == '-'))
        at++;
    while (at < end && *at == '0')
        at++;
    parts.whole = (struct text){at, digits_at(at, end)};
    at += parts.whole.size;
    if (at < end)
        at++; /* the point */
    while (end > at && end[-1] == '0')
        end--;
    parts.fraction = (struct text){at, (size_t)(end - at)};
    if (parts.whole.size == 0 && parts.fraction.size == 0)
        parts.negative = false;
    return parts;
}

static int compare_magnitude(const struct parts *a, const struct parts *b)
{
    if (a->whole.size != b->whole.size)
        return a->whole.size < b->whole.size ? -1 : 1;
    int order = text_compare(a->whole, b->whole);
    return order != 0 ? order : text_compare(a->fraction, b->fraction);
}

int decimal_compare(struct text a, struct text b)
{
    struct parts left = parts_of(a), right = parts_of(b);
    if (left.negative != right.negative)
        return left.negative ? -1 : 1;
    int order = compare_magnitude(&left, &right);
    return left.negative ? -order : order;
}

/* digits·10^exponent, rounded to the nearest double. Powers of ten up to 10^22 are exact, and so are the digits: one
 * operation on them rounds once. Beyond that the C library converts, which rounds to the nearest too. */
static double scaled(int64_t digits, int exponent)
{
    static const double powers[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    if (exponent >= 0 && exponent <= 22)
        return (double)digits * powers[exponent];
    if (exponent < 0 && exponent >= -22)
        return (double)digits / powers[-exponent];
    char numeral[48];
    snprintf(numeral, sizeof numeral, "%llde%d", (long long)digits, exponent);
    return strtod(numeral, NULL);
}

enum { EXACT_DIGITS = 15 };

double decimal_double(struct text text)
{
    struct parts parts = parts_of(text);
    int64_t digits = 0;
    int taken = 0, exponent = 0;
    bool more = false;
    for (size_t i = 0; i < parts.whole.size + parts.fraction.size; i++) {
        bool in_whole = i < parts.whole.size;
        char c = in_whole ? parts.whole.data[i] : parts.fraction.data[i - parts.whole.size];
        if (taken < EXACT_DIGITS) {
            digits = digits * 10 + (c - '0');
            taken += digits > 0;
            exponent -= !in_whole;
        } else {
            more = more || c != '0';
            exponent += in_whole;
        }
    }
    double number = scaled(digits, exponent);
    if (more)
        number = nextafter(number, INFINITY);
    number = number > DBL_MAX ? DBL_MAX : number;
    return parts.negative ? -number : number;
}

int decimal_places(struct text text)
{
    const char *point = text.size > 0 ? memchr(text.data, '.', text.size) : NULL;
    return point == NULL ? 0 : (int)(text.data + text.size - point - 1);
}

size_t decimal_canonical(struct text text, char *out)
{
    struct parts parts = parts_of(text);
    char *at = out;
    if (parts.negative)
        *at++ = '-';
    if (parts.whole.size == 0)
        *at++ = '0';
    memcpy(at, parts.whole.data, parts.whole.size);
    at += parts.whole.size;
    if (parts.fraction.size > 0) {
        *at++ = '.';
        memcpy(at, parts.fraction.data, parts.fraction.size);
        at += parts.fraction.size;
    }
    return (size_t)(at - out);
}
