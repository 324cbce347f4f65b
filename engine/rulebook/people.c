/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/people.h"

struct people {
    struct names *called; /* in small letters */
    const struct record **persons;
    size_t count, capacity; /* of persons, by number of `called` */
};

enum { CALLED_MOST = 256 }; /* bytes; by a longer name nobody is found */

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
    uint32_t number = cell->present ? names_add(people->called, small(cell->text, letters)) : 0;
    if (number <= people->count) /* none, or one that somebody has */
        return;
    VECTOR_GROW(people->persons, people->count, people->capacity);
    people->persons[people->count++] = person;
}

struct people *people_new(const struct history *history)
{
    static const int columns[] = {COL(OPERATORS, operator), COL(OPERATORS, name)};
    struct people *people = memory_new(sizeof *people);
    people->called = names_new();
    for (size_t c = 0; c < sizeof columns / sizeof *columns; c++)
        for (size_t i = 0; i < history->record_count[KIND_OPERATORS]; i++)
            call(people, &history->records[KIND_OPERATORS][i], columns[c]);
    return people;
}

void people_free(struct people *people)
{
    if (!people)
        return;
    names_free(people->called);
    memory_free(people->persons);
    memory_free(people);
}

const struct record *people_find(const struct people *people, struct text id_or_name)
{
    char letters[CALLED_MOST];
    uint32_t number = names_find(people->called, small(id_or_name, letters));
    return number ? people->persons[number - 1] : NULL;
}

bool person_is_there(const struct record *person, day_number day)
{
    day_number left_on = record_day(person, COL(OPERATORS, left_on));
    return day >= record_day(person, COL(OPERATORS, started_on)) && (left_on == DAY_ABSENT || day <= left_on);
}
