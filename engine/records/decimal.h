/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers as they are written: decimal numerals of any length, compared exactly, with the digits kept. */
#ifndef ASSIZE_RECORDS_DECIMAL_H
#define ASSIZE_RECORDS_DECIMAL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

bool decimal_valid(struct text text); /* [+-]digits[.digits] or [+-].digits; no exponent, no thousands mark */

/* Exact order of two valid numerals of any length: -1, 0, +1. -0 and 0 are equal. */
int decimal_compare(struct text a, struct text b);

/* The double that keeps the order of the numerals exact against any numeral of up to 15 significant digits: the first
 * 15 digits are converted, and the next double away from zero is taken if anything but zeros follows. Never infinite.
 */
double decimal_double(struct text text);
int decimal_places(struct text text); /* digits after the point */

/* Writes the one spelling that equal numerals share ("-0.5", "120", "0") and returns its size, at most text.size + 1.
 */
size_t decimal_canonical(struct text text, char *out);

#endif
