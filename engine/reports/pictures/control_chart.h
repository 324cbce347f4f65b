/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The control chart of one level on one analyzer: results against time, the limits of their control lots as steps,
 * changes of lots, failed controls by shape, and the patterns of the multirule by name.
 *
 * Limits: mean, ±1, ±2, ±3 standard deviations as assigned to the control lot, and the band between low and high that
 * controls are accepted in. Source of the form: Levey S, Jennings ER. The use of control charts in the clinical
 * laboratory. Am J Clin Pathol 1950;20:1059-66 (from memory). */
#ifndef ASSIZE_REPORTS_PICTURES_CONTROL_CHART_H
#define ASSIZE_REPORTS_PICTURES_CONTROL_CHART_H

#include "findings/portrait.h"
#include "reports/pictures/drawing.h"

/* Borrows all that is given; marks come from the audit's findings of controls.multirule at `site`. */
struct drawing *control_chart(struct arena *arena, const struct portrait *portrait,
                              const struct portrait_series *series, const struct audit *audit, struct text site);

#endif
