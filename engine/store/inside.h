/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of this room share: the store's inside, its SQL, its file. */
#ifndef ASSIZE_STORE_INSIDE_H
#define ASSIZE_STORE_INSIDE_H

#include "base/output.h"
#include "store/layout.h"
#include "store/lock.h"
#include "store/sql.h"
#include "store/store.h"

struct feed;    /* feed.h */
struct concern; /* concern.h */

struct store {
    struct database database;
    char *path;
    char *aside;        /* the file of a store that is being made, until its first load has committed; else NULL */
    char *aside_folder; /* which it stands in, with what SQLite may put beside it */
    enum store_mode mode;
    bool alone;        /* read without what lies beside the file */
    int64_t schema;    /* its version: below SCHEMA_VERSION only of a store opened for reading */
    struct lock *lock; /* STORE_WRITE */
    struct names *names;
    uint32_t names_stored; /* those above are not in the file yet */
    int64_t last_load;     /* 0 before the first */
    day_number last_day;   /* of that load */
    unsigned char head[DIGEST_SIZE];
    bool took_back;     /* at its opening, a change that had been cut off */
    bool edited;        /* by another program, since assize wrote to it last (seal.h) */
    int64_t file_count; /* seal_count as it was when this handle looked or wrote last */
    int row_count;      /* rows changed over this connection, at the beginning of the transaction */
    struct layout layouts[KIND_COUNT];
    struct query *finding_past; /* store_finding_past is asked for each finding; NULL until then */
    struct feed *feed;          /* hands rows to SQLite; owned by the connection */
    struct concern *concern;    /* tells SQLite which records are to be read; owned by the connection */
};

/* ---- store.c ---- */

/* How a store is without what lies beside its file. */
struct alone {
    bool whole;      /* all of it fits */
    bool edited;     /* its seal does not */
    bool counted;    /* its first page has not lost what SQLite counts in it */
    int64_t changes; /* as seal_count has it */
};
void store_look_alone(const char *path, struct alone *out); /* not whole, if it cannot be read */
#define ASIDE_STORE "store"                                 /* in a folder of its own, while it is made or tried */
bool store_begin(struct store *store, struct fault *fault);
bool store_commit(struct store *store, struct fault *fault); /* also gives a new store its name */
void store_roll_back(struct store *store);                   /* the handle stands as after opening, names excepted */

/* ---- schema.c ---- */

enum { APPLICATION_ID = 0x41535A45, SCHEMA_VERSION = 5 };

/* Makes or migrates the tables, and adds the tables and columns that the table of kinds has gained. */
bool schema_write(struct store *store, struct fault *fault);
/* Fills store->layouts from the tables that there are. */
bool schema_read(struct store *store, struct fault *fault);
/* A database in memory with the tables of this store as they should be: its version's, and those of the kinds with the
 * columns that they have. For the caller to close, also on a fault. */
bool schema_expect(const struct store *store, struct database *expected, struct fault *fault);

/* SQL texts, generated from the layouts; each query is NULL on a fault. `rest` follows the FROM clause. The columns are
 * the places of the layout, then n, file, line, load. */
struct query *rows_query(const struct store *store, const struct layout *layout, const char *rest, struct fault *fault);
struct query *rows_insert(const struct store *store, const struct layout *layout,
                          struct fault *fault); /* from the feed */
enum rows_change { ROWS_DELETE, ROWS_MOVE };
/* One row by site, event (row_at), n; ROWS_MOVE sets file and line: parameters 1 to 3, then 4 and 5. */
struct query *rows_change(const struct store *store, const struct layout *layout, enum rows_change change,
                          struct fault *fault);
/* "performed_at" in quotes, or 0 for kinds without an event: what the rows of a site are clustered by. */
const char *layout_event(const struct layout *layout, char out[64]);

/* ---- definitions.c ---- */

enum { DEFINITION_CHANGE_SIZE = 200 };

/* What is not as schema_expect has it, empty if all is. False only on a fault. */
bool definitions_compare(const struct store *store, char what[DEFINITION_CHANGE_SIZE], struct fault *fault);
/* Likewise, whether each value is of its column's type, or NULL: SQLite takes any, finds 16.5 and x'3136' by no 16, and
 * reads both as that. */
bool definitions_values(const struct store *store, char what[DEFINITION_CHANGE_SIZE], struct fault *fault);

/* ---- changes.c ---- */

/* The cells of a version before the last, packed as the table `history` has it; false: it is none. */
bool store_past_cells(const struct store *store, const struct layout *layout, struct text row, struct cell *cells);

/* ---- here ---- */

static inline const struct layout *store_layout(const struct store *store, const struct record_kind *kind)
{
    return &store->layouts[kind->id];
}

/* A kind by the number of its name, NULL if there is none. */
static inline const struct layout *store_layout_named(const struct store *store, int64_t kind_name)
{
    for (size_t k = 0; k < KIND_COUNT && kind_name != 0; k++)
        if (store->layouts[k].kind_name == kind_name)
            return &store->layouts[k];
    return NULL;
}

/* A number of the names table, which an edited store may have wrong: then absent. */
static inline struct text store_name(const struct store *store, int64_t name)
{
    return name > 0 && name <= names_count(store->names) ? names_text(store->names, (uint32_t)name) : (struct text){0};
}

/* A memory output as a C string. */
static inline const char *output_string(struct output *output)
{
    output_bytes(output, "", 1);
    return output_taken(output).data;
}

#endif
