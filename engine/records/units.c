/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "records/units.h"

#include <stddef.h>

/* one = factor · other + offset. `analyte`: a word that the analyte's name must hold, in any case, for the pair to be
 * right; NULL where the two units are a pair for one substance only, or for all.
 *
 * Sources: HbA1c, the master equation of NGSP, https://ngsp.org/ifcc.asp: NGSP % = 0.09148 · mmol/mol + 2.152.
 * Glucose, molar mass 180.156 g/mol of C6H12O6 (IUPAC standard atomic weights): 1 mmol/L = 18.0156 mg/dL.
 * Hemoglobin, 1 dL = 0.1 L. */
static const struct pair {
    const char *one, *other;
    double factor, offset;
    const char *analyte;
} pairs[] = {
    {"%", "mmol/mol", 0.09148, 2.152, NULL},
    {"mg/dL", "mmol/L", 18.0156, 0, "glucose"},
    {"g/L", "g/dL", 10, 0, NULL},
};

static const struct pair *pair_of(struct text a, struct text b)
{
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        const struct pair *pair = &pairs[i];
        if ((text_is(a, pair->one) && text_is(b, pair->other)) || (text_is(a, pair->other) && text_is(b, pair->one)))
            return pair;
    }
    return NULL;
}

bool unit_convert(struct text from, struct text to, double value, double *out)
{
    const struct pair *pair = pair_of(from, to);
    if (pair == NULL && !text_equal(from, to))
        return false;
    if (pair == NULL)
        *out = value;
    else
        *out = text_is(from, pair->other) ? pair->factor * value + pair->offset : (value - pair->offset) / pair->factor;
    return true;
}

static bool holds(struct text text, struct text word)
{
    for (size_t at = 0; at + word.size <= text.size; at++)
        if (text_same((struct text){text.data + at, word.size}, word))
            return true;
    return false;
}

bool unit_pair_known(struct text a, struct text b, struct text analyte)
{
    const struct pair *pair = pair_of(a, b);
    if (pair == NULL)
        return false;
    return pair->analyte == NULL || analyte.data == NULL || holds(analyte, text_of(pair->analyte));
}
