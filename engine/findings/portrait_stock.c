/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The portrait's lots and codes. */
#include "findings/portrait_parts.h"

struct use { /* what the runs of the whole history say of a lot */
    day_number first_on, last_on;
    uint64_t runs; /* in the period */
};

static uint64_t key_of(const struct record *row)
{
    return map_key(record_name(row, COL(LOTS, lot)), record_name(row, COL(LOTS, method)),
                   (uint32_t)record_cell(row, COL(LOTS, use))->whole, record_name(row, COL(LOTS, level)), 0);
}

static void note_use(const struct sitting *sitting, const struct map *places, struct use *uses, const struct run *run,
                     bool as_control)
{
    uint32_t lot = as_control ? run->control_lot : run->lot;
    const uint64_t *place = map_find(places, map_key(lot, run->method, as_control, as_control ? run->level : 0, 0));
    if (!place)
        return;
    struct use *use = &uses[*place];
    day_number day = history_day(sitting->history, run->at);
    if (use->first_on == DAY_ABSENT)
        use->first_on = day;
    use->last_on = day > use->last_on ? day : use->last_on;
    use->runs += run->is_control == as_control && sitting_day(sitting, run) >= 0;
}

/* Of each row of the lots log. The caller frees it. */
static struct use *uses_of_lots(const struct sitting *sitting)
{
    const struct history *history = sitting->history;
    size_t count = history->record_count[KIND_LOTS];
    struct use *uses = memory_new((count + 1) * sizeof *uses);
    AUTO(map) places = map_new();
    for (size_t i = 0; i < count; i++) {
        uses[i] = (struct use){.first_on = DAY_ABSENT, .last_on = DAY_ABSENT};
        *map_at(places, key_of(&history->records[KIND_LOTS][i])) = i;
    }
    for (size_t i = 0; i < history->run_count; i++) {
        const struct run *run = &history->runs[i];
        note_use(sitting, places, uses, run, false);
        if (run->is_control)
            note_use(sitting, places, uses, run, true);
    }
    return uses;
}

static void take_openings(const struct sitting *sitting, const struct record *row, struct portrait_lot *lot)
{
    struct shelf_range range =
        shelf_find(&sitting->history->openings, map_key(record_name(row, COL(LOTS, lot)), 0, 0, 0, 0));
    lot->opened_on = arena_take(sitting->arena, (size_t)(range.end - range.first + 1) * sizeof *lot->opened_on);
    for (const struct shelf_entry *entry = range.first; entry < range.end; entry++)
        lot->opened_on[lot->opening_count++] = shelf_day(entry);
}

/* In use, opened or in date in the period? */
static bool concerns(const struct sitting *sitting, const struct portrait_lot *lot)
{
    day_number end =
        lot->discarded_on != DAY_ABSENT && lot->discarded_on < lot->expires_on ? lot->discarded_on : lot->expires_on;
    bool meets = sitting_meets(sitting, lot->received_on, end);
    if (lot->first_run_on != DAY_ABSENT)
        meets = meets || sitting_meets(sitting, lot->first_run_on, lot->last_run_on);
    for (size_t i = 0; i < lot->opening_count; i++)
        meets = meets || sitting_meets(sitting, lot->opened_on[i], lot->opened_on[i]);
    return meets;
}

static struct portrait_lot lot_of(const struct sitting *sitting, const struct record *row, const struct use *use)
{
    struct portrait_lot lot = {
        .lot = sitting_cell(sitting, row, COL(LOTS, lot)),
        .method = sitting_cell(sitting, row, COL(LOTS, method)),
        .level = sitting_cell(sitting, row, COL(LOTS, level)),
        .code = sitting_cell(sitting, row, COL(LOTS, code)),
        .is_control = record_cell(row, COL(LOTS, use))->whole != 0,
        .received_on = record_day(row, COL(LOTS, received_on)),
        .expires_on = record_day(row, COL(LOTS, expires_on)),
        .discarded_on = record_day(row, COL(LOTS, discarded_on)),
        .first_run_on = use->first_on,
        .last_run_on = use->last_on,
        .tests = use->runs,
        .place = sitting_place(sitting, row->file, row->line),
    };
    take_openings(sitting, row, &lot);
    return lot;
}

static int by_method_use_received(const void *a, const void *b)
{
    const struct portrait_lot *x = a, *y = b;
    int order = text_compare(x->method, y->method);
    if (!order)
        order = x->is_control - y->is_control;
    if (!order && x->received_on != y->received_on)
        order = x->received_on < y->received_on ? -1 : 1;
    if (!order)
        order = text_compare(x->lot, y->lot);
    return order ? order : text_compare(x->level, y->level);
}

void portrait_lots(struct sitting *sitting)
{
    const struct history *history = sitting->history;
    struct portrait *portrait = sitting->portrait;
    struct portrait_lot *lots = NULL;
    size_t capacity = 0;
    struct use *uses = uses_of_lots(sitting);
    for (size_t i = 0; i < history->record_count[KIND_LOTS]; i++) {
        struct portrait_lot lot = lot_of(sitting, &history->records[KIND_LOTS][i], &uses[i]);
        if (!concerns(sitting, &lot))
            continue;
        VECTOR_GROW(lots, portrait->lot_count, capacity);
        lots[portrait->lot_count++] = lot;
    }
    portrait->lots = sitting_items(sitting, lots, portrait->lot_count, sizeof *lots, by_method_use_received);
    memory_free(uses);
}

void portrait_codes(struct sitting *sitting)
{
    const struct history *history = sitting->history;
    struct portrait *portrait = sitting->portrait;
    portrait->code_count = history->record_count[KIND_CODES];
    portrait->codes = arena_take(sitting->arena, (portrait->code_count + 1) * sizeof *portrait->codes);
    for (size_t i = 0; i < portrait->code_count; i++) {
        const struct record *row = &history->records[KIND_CODES][i];
        portrait->codes[i] = (struct portrait_code){
            .analyzer = sitting_cell(sitting, row, COL(CODES, analyzer)),
            .code = sitting_cell(sitting, row, COL(CODES, code)),
            .lot = sitting_cell(sitting, row, COL(CODES, lot)),
            .at = row->at,
            .place = sitting_place(sitting, row->file, row->line),
        };
    }
}
