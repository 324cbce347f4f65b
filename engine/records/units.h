/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units that a result may be recorded in besides its method's own: the known pairs, with factor and source. */
#ifndef ASSIZE_RECORDS_UNITS_H
#define ASSIZE_RECORDS_UNITS_H

#include <stdbool.h>

#include "base/text.h"

/* Converts `value` from one unit to the other, in either direction. False: the pair is not known. Units are compared
 * byte for byte; a unit and itself are a pair. */
bool unit_convert(struct text from, struct text to, double value, double *out);

/* Whether results of `analyte` (absent: not said) may be converted between two different units. Glucose's factor must
 * not be taken for another substance that is given in mg/dL and mmol/L too. */
bool unit_pair_known(struct text a, struct text b, struct text analyte);

#endif
