/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of names of text.h: open addressing, linear probing, never more than half full. */
#include <string.h>

#include "base/text.h"

struct slot {
    uint32_t hash; /* enough of the hash to place the slot anew when the table grows */
    uint32_t name; /* 0: free */
};

struct names {
    struct arena *bytes;
    uint64_t hash_key;
    struct text *texts; /* by number; texts[0] is absent */
    uint32_t count, capacity;
    struct slot *slots;
    uint32_t mask; /* number of slots, a power of two, less one */
};

enum { FIRST_SLOTS = 64 };

struct names *names_new(void)
{
    struct names *names = memory_new(sizeof *names);
    names->bytes = arena_new();
    names->hash_key = text_hash_key();
    names->capacity = FIRST_SLOTS / 2;
    names->texts = memory_new(names->capacity * sizeof *names->texts);
    names->slots = memory_new(FIRST_SLOTS * sizeof *names->slots);
    names->mask = FIRST_SLOTS - 1;
    return names;
}

/* The slot that holds the text, or the free one where it would go. */
static struct slot *slot_of(const struct names *names, struct text text, uint32_t hash)
{
    for (uint32_t at = hash & names->mask;; at = (at + 1) & names->mask) {
        struct slot *slot = &names->slots[at];
        if (slot->name == 0)
            return slot;
        const struct text *known = &names->texts[slot->name];
        if (slot->hash == hash && known->size == text.size && memcmp(known->data, text.data, text.size) == 0)
            return slot;
    }
}

static void slots_double(struct names *names)
{
    uint32_t old_mask = names->mask;
    struct slot *old = names->slots;
    names->mask = old_mask * 2 + 1;
    names->slots = memory_new(((size_t)names->mask + 1) * sizeof *names->slots);
    for (size_t i = 0; i <= old_mask; i++) {
        if (old[i].name == 0)
            continue;
        uint32_t at = old[i].hash & names->mask;
        while (names->slots[at].name != 0)
            at = (at + 1) & names->mask;
        names->slots[at] = old[i];
    }
    memory_free(old);
}

static uint32_t names_append(struct names *names, struct text text)
{
    names->count++;
    VECTOR_GROW(names->texts, names->count, names->capacity);
    names->texts[names->count] = text_keep(names->bytes, text);
    return names->count;
}

uint32_t names_add(struct names *names, struct text text)
{
    if (text.size == 0)
        return 0;
    uint32_t hash = (uint32_t)text_hash(text, names->hash_key);
    struct slot *slot = slot_of(names, text, hash);
    if (slot->name != 0)
        return slot->name;
    uint32_t name = names_append(names, text);
    *slot = (struct slot){hash, name};
    if (names->count > names->mask / 2)
        slots_double(names);
    return name;
}

uint32_t names_find(const struct names *names, struct text text)
{
    return text.size == 0 ? 0 : slot_of(names, text, (uint32_t)text_hash(text, names->hash_key))->name;
}

struct text names_text(const struct names *names, uint32_t name) { return names->texts[name]; }

uint32_t names_count(const struct names *names) { return names->count; }

void names_free(struct names *names)
{
    if (names == NULL)
        return;
    arena_free(names->bytes);
    memory_free(names->texts);
    memory_free(names->slots);
    memory_free(names);
}
