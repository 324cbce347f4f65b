/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The place of each column in its kind as an enum value: COL_TESTS_performed_at. Made from kinds.def; included by
 * kinds.h. */
#ifndef ASSIZE_RECORDS_COLUMNS_H
#define ASSIZE_RECORDS_COLUMNS_H

/* clang-format off */
#define KIND(ID, name, core, meaning) enum columns_of_##name {
#define COLUMN(ID, name, type, flags, words, unit, meaning) COL_##ID##_##name,
#define KIND_END(ID) COL_##ID##_COUNT };
/* clang-format on */
#include "records/kinds.def"

#endif
