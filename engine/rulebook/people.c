/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/people.h"

#include "base/map.h"

struct called {
    const struct record *person;
    uint64_t next; /* another one who is called so: place + 1; 0: none */
};

struct people {
    struct names *names; /* ids and names in small letters */
    struct map *first;   /* number of a name -> place + 1 */
    struct called *all;
    size_t count, capacity;
};

enum { SAME_NAME_MOST = 16 }; /* that are looked through, for each entry of a log */
enum { CALLED_MOST = 256 };   /* bytes; by a longer name nobody is found */

static struct text small(struct text text, char letters[CALLED_MOST])
{
    if (text.size > CALLED_MOST)
        return (struct text){0};
    for (size_t i = 0; i < text.size; i++)
        letters[i] = text_lower(text.data[i]);
    return (struct text){letters, text.size};
}

static void call(struct people *people, const struct record *person, int column)
{
    char letters[CALLED_MOST];
    const struct cell *cell = record_cell(person, column);
    uint32_t number = cell->present ? names_add(people->names, small(cell->text, letters)) : 0;
    if (!number)
        return;
    uint64_t *first = map_at(people->first, number);
    VECTOR_GROW(people->all, people->count, people->capacity);
    people->all[people->count++] = (struct called){person, *first};
    *first = people->count;
}

struct people *people_new(const struct history *history)
{
    static const int columns[] = {COL(OPERATORS, operator), COL(OPERATORS, name)};
    struct people *people = memory_new(sizeof *people);
    people->names = names_new();
    people->first = map_new();
    for (size_t c = 0; c < sizeof columns / sizeof *columns; c++)
        for (size_t i = 0; i < history->record_count[KIND_OPERATORS]; i++)
            call(people, &history->records[KIND_OPERATORS][i], columns[c]);
    return people;
}

void people_free(struct people *people)
{
    if (!people)
        return;
    names_free(people->names);
    map_free(people->first);
    memory_free(people->all);
    memory_free(people);
}

const struct record *people_find(const struct people *people, struct text id_or_name, day_number day)
{
    char letters[CALLED_MOST];
    uint32_t number = names_find(people->names, small(id_or_name, letters));
    const uint64_t *first = number ? map_find(people->first, number) : NULL;
    const struct record *found = NULL;
    uint64_t place = first ? *first : 0;
    for (int i = 0; place && i < SAME_NAME_MOST; i++, place = people->all[place - 1].next) {
        found = people->all[place - 1].person;
        if (person_is_there(found, day))
            return found;
    }
    return found;
}

bool person_is_there(const struct record *person, day_number day)
{
    day_number left_on = record_day(person, COL(OPERATORS, left_on));
    return day >= record_day(person, COL(OPERATORS, started_on)) && (left_on == DAY_ABSENT || day <= left_on);
}
