/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside of the portrait: its parts, each made by a file of its own, and what these share. */
#ifndef ASSIZE_FINDINGS_PORTRAIT_PARTS_H
#define ASSIZE_FINDINGS_PORTRAIT_PARTS_H

#include "findings/portrait.h"

struct sitting { /* a portrait being made */
    const struct history *history;
    struct portrait *portrait;
    struct arena *arena;
    struct text *paths; /* copies of the history's, by rank */
};

/* Copies into the arena; what is absent stays absent. */
struct text sitting_name(const struct sitting *sitting, uint32_t name);
struct text sitting_text(const struct sitting *sitting, struct text text);
struct text sitting_cell(const struct sitting *sitting, const struct record *record, int column);
struct record_place sitting_place(const struct sitting *sitting, uint32_t file, uint32_t line);

/* A grown array, sorted and moved into the arena; the array is freed. NULL if it has no items. */
void *sitting_items(const struct sitting *sitting, void *items, size_t count, size_t size,
                    int (*order)(const void *, const void *));

/* The place of the run's testing day among the portrait's days, or -1. */
int64_t sitting_day(const struct sitting *sitting, const struct run *run);
/* Is any part of first to last (DAY_ABSENT: no end) in the period? */
bool sitting_meets(const struct sitting *sitting, day_number first, day_number last);

void portrait_volumes(struct sitting *sitting);
void portrait_days(struct sitting *sitting);     /* analyzers */
void portrait_controls(struct sitting *sitting); /* series */
void portrait_lots(struct sitting *sitting);
void portrait_codes(struct sitting *sitting);
void portrait_people(struct sitting *sitting);
void portrait_actions(struct sitting *sitting);

#endif
