/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lots as bars from the day they came in to their last good day, with their openings, what they were used for, and what
 * went wrong: use past the expiry. Below them, a row an analyzer, the codes that were put in. Of many lots, those in
 * use are shown, and how many are not. */
#ifndef ASSIZE_REPORTS_PICTURES_LOTS_H
#define ASSIZE_REPORTS_PICTURES_LOTS_H

#include "findings/portrait.h"
#include "reports/pictures/drawing.h"

struct drawing *lots_picture(struct arena *arena, const struct portrait *portrait);

#endif
