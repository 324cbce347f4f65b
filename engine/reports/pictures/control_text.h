/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The control chart for a terminal, 80 columns wide: the same plan as control_chart.h, in letters. */
#ifndef ASSIZE_REPORTS_PICTURES_CONTROL_TEXT_H
#define ASSIZE_REPORTS_PICTURES_CONTROL_TEXT_H

#include "base/output.h"
#include "reports/pictures/control_plan.h"

/* In UTF-8, or in ASCII for terminals that have no more. */
void control_text(const struct control_plan *plan, bool utf8, struct output *output);

#endif
