/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where reports must not be written: over the records that they are made from. */
#ifndef ASSIZE_REPORTS_PLACE_H
#define ASSIZE_REPORTS_PLACE_H

#include <stdbool.h>

#include "base/fault.h"
#include "intake/folder.h"

/* Refuses a report folder that is the site's or program's folder or holds it, or that lies among its records, methods,
 * rules or sites; wherever links lead. A folder that is not there yet is looked at by the folder that it will be in. */
bool report_place_check(const char *report, const struct folder *folder, struct fault *fault);

#endif
