/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lists that a load leaves for a site: its log files, the rows refused in them, and what was warned of. Those of
 * files that are not parsed again are carried over from the load before. Memory: one arena a list. */
#ifndef ASSIZE_STORE_LISTS_H
#define ASSIZE_STORE_LISTS_H

#include "store/chain.h"
#include "store/inside.h"

enum refusal_nature {
    REFUSAL_OF_ROW,   /* the row has a fault of its own */
    REFUSAL_CONFLICT, /* its key stands elsewhere with other values */
    REFUSAL_TO_END,   /* nothing that follows it in the file can be read */
};

struct kept_refusal {
    enum refusal_nature nature;
    uint32_t line;
    struct text column, value, reason; /* the first two may be absent */
    struct text cells;                 /* a packed row of those that could be read */
};

struct kept_file {
    struct text path;
    uint32_t path_name;
    const struct record_kind *kind; /* NULL: the name fits no kind */
    unsigned char digest[DIGEST_SIZE];
    uint64_t rows;       /* refused ones included */
    uint64_t repeated;   /* rows that stand in the logs before */
    struct text refused; /* why the file as a whole was refused; absent if it was read */
    bool settled; /* its rows have to do with no other file's; if not, it is parsed again when another file changes */
    size_t size;  /* in bytes, of what the digest is of; 0: not known */
    struct kept_refusal *refusals;
    size_t refusal_count, refusal_capacity;
    struct text *warnings;
    size_t warning_count, warning_capacity;

    /* Of the load at hand. */
    bool is_unchanged;    /* since the load before */
    bool is_parsed;       /* now, as a whole or what was added to it: `rows` and the lists are new */
    bool is_parsed_whole; /* else the rows known from the load before stand as they did, and are not gathered */
    bool reads_to_end;    /* false: a quote is never closed in it, or a second header is wrong */
};

/* Whether the records of the load before stand in it, their rows unread. */
static inline bool file_stands_unread(const struct kept_file *file)
{
    return !file->is_parsed_whole && file->refused.data == NULL;
}

struct lists {
    struct arena *arena;
    int64_t site;            /* name */
    struct kept_file *files; /* in the byte order of their paths */
    size_t count, capacity;
    size_t strays; /* stored refusals and warnings of files that are not on the list: the store was edited */
};

void lists_free(struct lists *lists);
#define AUTO_LISTS __attribute__((cleanup(lists_free))) struct lists

struct kept_file *lists_add(struct lists *lists);
struct kept_file *lists_find(const struct lists *lists, struct text path); /* NULL */
void file_refuses(struct kept_file *file, struct kept_refusal refusal);    /* texts live in the arena */
void file_warns(struct kept_file *file, struct text warning);

/* As of the latest load. */
bool lists_read(struct store *store, int64_t site, struct lists *out, struct fault *fault);
/* Replaces the lists of the site if they differ from those stored, and adds the links. */
bool lists_write(struct store *store, const struct lists *lists, struct links *links, struct fault *fault);

/* The digests of what is stored or would be. */
struct list_digests {
    unsigned char files[DIGEST_SIZE], refusals[DIGEST_SIZE], warnings[DIGEST_SIZE];
};
void lists_digest(const struct lists *lists, struct list_digests *out);

#endif
