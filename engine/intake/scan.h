/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Looks through a site's records/ folder and sorts what lies there: logs, what is refused, what is passed over. */
#ifndef ASSIZE_INTAKE_SCAN_H
#define ASSIZE_INTAKE_SCAN_H

#include "intake/folder.h"

/* Fills in logs, passed_over and unreadable of `site`, whose path is set. */
void scan_records(struct site_place *site);

#endif
