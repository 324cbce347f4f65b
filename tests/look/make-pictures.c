/* SPDX-License-Identifier: GPL-3.0-or-later */
/* make-pictures RULES DIR FROM TO AS-OF OUT writes the pictures of an audited folder's first site as SVG files: for
 * looking at them. DIR must have been audited before; nothing in it is changed. */
#include <stdio.h>

#include "commands/open.h"
#include "findings/portrait.h"
#include "reports/pictures/calendar.h"
#include "reports/pictures/lots.h"
#include "reports/pictures/people.h"
#include "reports/pictures/svg.h"
#include "reports/pictures/trend.h"

static bool write_picture(const char *folder, const char *name, const struct drawing *drawing, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct text path = text_print(arena, "%s/%s.svg", folder, name);
    struct output *output;
    if (!output_file(&output, path.data, fault))
        return false;
    svg_file(drawing, output);
    return output_close(output, fault);
}

static bool write_all(const struct portrait *portrait, const char *folder, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    for (size_t i = 0; i < portrait->analyzer_count; i++) {
        const struct portrait_analyzer *analyzer = &portrait->analyzers[i];
        const char *name = text_print(arena, "calendar-%.*s", TEXT_FORMAT(analyzer->analyzer)).data;
        if (!write_picture(folder, name, calendar_picture(arena, portrait, analyzer), fault))
            return false;
    }
    return write_picture(folder, "trend", trend_picture(arena, portrait), fault) &&
           write_picture(folder, "people", people_picture(arena, portrait), fault) &&
           write_picture(folder, "lots", lots_picture(arena, portrait), fault);
}

static bool make(char **words, struct fault *fault)
{
    struct judge_wish wish = {.portraits = true};
    AUTO(rulebook) book = rulebook_new();
    AUTO(opened) opened = NULL;
    AUTO(store) store = NULL;
    AUTO(audit) audit = NULL;
    return day_parse(text_of(words[3]), &wish.key.from, NULL) && day_parse(text_of(words[4]), &wish.key.to, NULL) &&
           day_parse(text_of(words[5]), &wish.key.as_of, NULL) && rulebook_add(book, words[1], "rules", fault) &&
           opened_read(&opened, words[2], fault) && store_open(&store, opened->folder->store_path, STORE_READ, fault) &&
           opened_judge(opened, store, book, &wish, &audit, fault) && audit->sites[0].portrait != NULL &&
           write_all(audit->sites[0].portrait, words[6], fault);
}

int main(int count, char **words)
{
    struct fault fault = {0};
    if (count == 7 && make(words, &fault))
        return 0;
    fprintf(stderr, "make-pictures: %s\n", fault.text);
    return 2;
}
