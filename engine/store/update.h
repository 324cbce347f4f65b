/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Compares the gathered rows of a kind at a site with the records that the store has, and writes what is to be changed.
 */
#ifndef ASSIZE_STORE_UPDATE_H
#define ASSIZE_STORE_UPDATE_H

#include "store/gather.h"

/* Statements that a load runs for one kind after the other and one site after the other; made when first needed. */
struct update_queries {
    struct kind_queries {
        struct query *latest, *ahead, *records, *places, *insert, *remove, *move;
    } kinds[KIND_COUNT];
    struct query *history, *history_put;
    struct query *standing, *standing_count, *standing_put, *standing_remove;
};
void update_queries_free(struct update_queries *queries);
#define AUTO_UPDATE_QUERIES __attribute__((cleanup(update_queries_free))) struct update_queries

struct moved_record { /* to another file or line */
    int64_t at, n;
    uint32_t file_name, line;
};

struct update {
    struct arena *arena;
    struct ended_version *ended; /* versions replaced or withdrawn, and gaps of records that return */
    size_t ended_count, ended_capacity;
    struct moved_record *moved; /* in the order of the table */
    size_t moved_count, moved_capacity;
    int64_t records;     /* that the store had, the withdrawn ones left out */
    bool lacks_standing; /* it had some, but the table `standing` has nothing of them: an earlier schema loaded them */
    int64_t last_n;      /* the highest number given so far */
    uint64_t added, amended, filled, withdrawn;
    int64_t latest; /* event that the store had, if it had records; 0 for kinds without one */
    uint64_t early; /* of those added: dated before the latest that the store had */
    struct row_view first_early;
};
void update_free(struct update *update);
#define AUTO_UPDATE __attribute__((cleanup(update_free))) struct update

/* Finds what is to be done; gather_compare has been called. A row whose key stands among the unread rows of a file
 * makes that file one to be parsed as a whole: *again is set, and its place is in must_parse[], which has an entry for
 * each file of the list. Then nothing else in `out` counts. */
bool update_find(struct gathering *gathering, struct update_queries *queries, struct update *out, bool *must_parse,
                 bool *again, struct fault *fault);

/* Writes it, as a part of load number `load`, and adds its links. The gathered rows are brought into the order of the
 * table, and only those that are written remain. */
bool update_write(struct gathering *gathering, struct update_queries *queries, struct update *update, int64_t load,
                  struct links *links, struct fault *fault);

#endif
