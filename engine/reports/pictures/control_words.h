/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The words of a control chart: its title, its description for those who cannot see it, its notes and its key. */
#ifndef ASSIZE_REPORTS_PICTURES_CONTROL_WORDS_H
#define ASSIZE_REPORTS_PICTURES_CONTROL_WORDS_H

#include "reports/pictures/control_plan.h"

void control_words(struct control_plan *plan, const struct audit *audit,
                   struct text site); /* fills title, notes and description */

/* What a kind of mark stands for, "25 good"; absent where there is none of it. */
struct text control_key(const struct control_plan *plan, enum control_state state);
struct text control_key_covered(const struct control_plan *plan); /* "3 in a pattern" */

#endif
