/* SPDX-License-Identifier: GPL-3.0-or-later */
/* docs/catalogue.md: what each rule of a book asks, for people. scripts/make_catalogue.c prints it; so it cannot say
 * anything else than the rule files do. */
#ifndef ASSIZE_REPORTS_CATALOGUE_H
#define ASSIZE_REPORTS_CATALOGUE_H

#include "base/output.h"
#include "rulebook/rulebook.h"

void catalogue_print(const struct rulebook *book, struct output *output);

#endif
