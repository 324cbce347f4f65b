/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The two halves of store_verify: what there is once a load or site (verify.c), and the records (verify_records.c). */
#ifndef ASSIZE_STORE_VERIFY_H
#define ASSIZE_STORE_VERIFY_H

#include "store/chain.h"
#include "store/inside.h"

struct verifying {
    struct store *store;
    struct chain_report *report;
    int64_t broken_load; /* of report->first_break */
    struct fault *fault;
};

/* Tells a break, unless one of an earlier load, or of this one, is known. */
void break_found(struct verifying *verifying, int64_t load, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
struct text verify_site(const struct verifying *verifying, int64_t site);

/* All records of a kind, current and past, at all sites. False only if the store cannot be read. */
bool verify_kind(struct verifying *verifying, const struct layout *layout);
/* Versions and links of kinds that the engine does not know. */
bool verify_strangers(struct verifying *verifying);

#endif
