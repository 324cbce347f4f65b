/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The record dictionary, docs/records.md: what people need to know to keep the logs, printed from the table of kinds.
 */
#ifndef ASSIZE_RECORDS_DICTIONARY_H
#define ASSIZE_RECORDS_DICTIONARY_H

#include "base/output.h"

void dictionary_print(struct output *output); /* Markdown */

#endif
