/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Operators' competency as time lines, a row a person and method: initial training, assessments, retraining, and until
 * when the latest pass lasts by the rule that asks for it (portrait.h, good_until). Days without competency between
 * two assessments are breaks in the line. Of many rows, those that need something are shown, and how many are not. */
#ifndef ASSIZE_REPORTS_PICTURES_PEOPLE_H
#define ASSIZE_REPORTS_PICTURES_PEOPLE_H

#include "findings/portrait.h"
#include "reports/pictures/drawing.h"

struct drawing *people_picture(struct arena *arena, const struct portrait *portrait);

#endif
