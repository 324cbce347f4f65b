/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/quantities.h"

double estimated_average_glucose(double hba1c_percent) { return 28.7 * hba1c_percent - 46.7; }

double estimated_average_glucose_mmol(double hba1c_percent) { return estimated_average_glucose(hba1c_percent) / 18; }
