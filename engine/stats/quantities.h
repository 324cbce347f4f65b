/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Estimated average glucose, for those who read a HbA1c beside glucose values. Units of one quantity are converted by
 * records/units.h; this is another quantity, estimated from the first. */
#ifndef ASSIZE_STATS_QUANTITIES_H
#define ASSIZE_STATS_QUANTITIES_H

/* Mean glucose of the last weeks in mg/dL from HbA1c in NGSP %: 28.7·HbA1c - 46.7 (n = 507, R² = 0.84). Any number;
 * below about 1.6 % the estimate is negative and means nothing.
 * Source: Nathan DM et al. Translating the A1C assay into estimated average glucose values. Diabetes Care
 * 2008;31:1473-8. */
double estimated_average_glucose(double hba1c_percent);

/* The same in mmol/L, as the paper's table has it: the mg/dL divided by 18. (The rounded line 1.59·HbA1c - 2.59 that is
 * printed with it does not give the table at 7, 8, 9 and 10 %.) */
double estimated_average_glucose_mmol(double hba1c_percent);

#endif
