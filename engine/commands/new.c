/* SPDX-License-Identifier: GPL-3.0-or-later */
/* assize new: for a site that starts. Writes a site folder that can be audited at once, and says what to fill in. */
#include <stdio.h>
#include <string.h>

#include "base/installed.h"
#include "commands/command.h"
#include "commands/starter.h"
#include "intake/file.h"
#include "records/kinds.h"

static const struct option_row options[] = {
    {"method", "NAME",
     "put this method on the menu, from the example of its name; if none is given, all examples are "
     "copied to choose from and the menu stays empty",
     true},
    {NULL, NULL, NULL, false},
};

struct starting {
    struct arena *arena;
    const struct starter_place *place;
    const char *const *examples; /* names of the methods that came with the program */
    const char *const *shared;   /* those of the program that the site belongs to */
    const char **copied, **menu;
    size_t copied_count, menu_count;
};

static bool refuse_unknown(const struct starting *starting, const char *name, struct fault *fault)
{
    struct text list = {NULL, 0};
    const char *const *lists[] = {starting->shared, starting->examples};
    for (size_t k = 0; k < 2; k++)
        for (const char *const *known = lists[k]; *known != NULL; known++)
            if (k == 0 || !starter_lists(starting->shared, *known))
                list = list.data == NULL ? text_of(*known)
                                         : text_print(starting->arena, "%.*s, %s", TEXT_FORMAT(list), *known);
    return fault_set(fault, FAULT_USAGE, "--method: %s: unknown method; there are %.*s", name, TEXT_FORMAT(list));
}

/* A method of the program counts for its sites: a copy of the example would replace it. */
static bool choose(struct starting *starting, const struct arguments *arguments, struct fault *fault)
{
    size_t given = argument_count(arguments, "method"), known = 0;
    while (starting->examples[known] != NULL)
        known++;
    starting->menu = arena_take(starting->arena, (given + 1) * sizeof *starting->menu);
    starting->copied = arena_take(starting->arena, (given + known + 1) * sizeof *starting->copied);
    for (size_t i = 0; i < given; i++) {
        const char *name = argument_at(arguments, "method", i);
        starting->menu[starting->menu_count] = NULL;
        bool shared = starter_lists(starting->shared, name);
        if (!shared && !starter_lists(starting->examples, name))
            return refuse_unknown(starting, name, fault);
        if (starter_lists(starting->menu, name))
            continue;
        starting->menu[starting->menu_count++] = name;
        if (!shared)
            starting->copied[starting->copied_count++] = name;
    }
    for (size_t i = 0; given == 0 && i < known; i++)
        if (!starter_lists(starting->shared, starting->examples[i]))
            starting->copied[starting->copied_count++] = starting->examples[i];
    starting->menu[starting->menu_count] = starting->copied[starting->copied_count] = NULL;
    return true;
}

/* ---- what to fill in next ---- */

static void print_marked_lines(const char *folder)
{
    struct file_bytes file = {0};
    struct fault ignored = {0};
    char *path = path_join(folder, "site.yaml");
    if (file_read(path, NULL, &file, &ignored)) {
        const char *before = " (lines ";
        unsigned number = 1;
        for (const char *line = file.data, *end = file.data + file.size; line < end; number++) {
            const char *stop = memchr(line, '\n', (size_t)(end - line));
            const char *next = stop != NULL ? stop + 1 : end;
            struct text rest = {line, (size_t)(next - line)};
            while (rest.size > 0 && !text_starts(rest, "# REPLACE"))
                rest = (struct text){rest.data + 1, rest.size - 1};
            if (rest.size > 0) {
                printf("%s%u", before, number);
                before = ", ";
            }
            line = next;
        }
        printf("%s", before[0] == ',' ? ")" : "");
    }
    memory_free(file.data);
    memory_free(path);
}

static void print_names(const char *const *names)
{
    for (size_t i = 0; names[i] != NULL; i++)
        printf("%s%s", i > 0 ? ", " : "", names[i]);
}

static void print_methods(const struct starting *starting)
{
    const char *folder = starting->place->folder;
    bool chosen = starting->menu_count > 0;
    if (chosen) {
        printf("  On the menu: ");
        print_names(starting->menu);
        printf(".\n");
    } else
        printf("  No --method was given: the menu is empty, and the examples are there to choose from.\n");
    if (starting->copied_count > 0) {
        printf("  methods/ has ");
        print_names(starting->copied);
        printf(".\n");
    }
    if (*starting->shared != NULL) {
        printf("  The program %s shares ", starting->place->program);
        print_names(starting->shared);
        printf(".\n");
    }
    printf("\nFill in next\n  1. %s/site.yaml: what is marked REPLACE", folder);
    print_marked_lines(folder);
    printf(", and the certificate.\n");
    if (!chosen)
        printf("     Put the tests that you run on the menu there, and delete the other files in methods/.\n");
    if (starting->copied_count > 0)
        printf("  2. %s/methods/: every number and word is an example. Go through each file with the package\n"
               "     insert of the kit that you use; the insert decides.\n",
               folder);
    else
        printf(
            "  2. The program's method files: see that they fit the kits in use here; the package insert decides.\n");
}

/* Rules judge by these logs even where they are not kept, so that deleting them hides nothing. */
static void print_core_kinds(void)
{
    const char *before = "";
    for (int i = 0; i < KIND_COUNT; i++) {
        if (!kind_of((enum kind_id)i)->core)
            continue;
        printf("%s%s", before, kind_of((enum kind_id)i)->name);
        before = ", ";
    }
}

/* As it is to be typed at a shell: between quotes, unless all its characters are plain, and it begins as no option. */
static const char *as_typed(struct arena *arena, const char *folder)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._/-";
    const char *before = folder[0] == '-' ? "./" : "";
    if (folder[strspn(folder, plain)] == '\0')
        return text_print(arena, "%s%s", before, folder).data;
    struct text typed = text_print(arena, "'%s", before);
    for (const char *c = folder; *c; c++)
        typed = text_print(arena, *c == '\'' ? "%.*s'\\'%c" : "%.*s%c", TEXT_FORMAT(typed), *c);
    return text_print(arena, "%.*s'", TEXT_FORMAT(typed)).data;
}

static void print_next(const struct starting *starting)
{
    const char *folder = starting->place->folder, *typed = as_typed(starting->arena, folder);
    printf("%s: a new site, %s, with a log for each of %d kinds of records, all empty.\n", folder,
           starting->place->name, (int)KIND_COUNT);
    print_methods(starting);
    printf("  3. %s/records/: first operators.csv, analyzers.csv, lots.csv, training.csv and procedures.csv, then\n"
           "     what happens day by day. Delete the logs that you do not keep; these are judged all the same:\n     ",
           folder);
    print_core_kinds();
    printf(".\n  4. Then see what is still missing, and print log sheets to write on:\n"
           "       assize audit %s --month YYYY-MM\n"
           "       assize forms %s --month YYYY-MM\n",
           typed, typed);
}

static bool start(struct starting *starting, const struct arguments *arguments, struct fault *fault)
{
    char *methods = NULL, *starters = NULL;
    bool ok = installed_folder("methods", &methods, fault) && installed_folder("starter", &starters, fault);
    if (ok) {
        const char *program = starting->place->program;
        const char *shared = program != NULL ? text_print(starting->arena, "%s/methods", program).data : "";
        starting->examples = starter_methods(starting->arena, methods, fault);
        starting->shared = starter_methods(starting->arena, shared, fault);
        ok = starting->examples != NULL && starting->shared != NULL && choose(starting, arguments, fault);
    }
    if (ok) {
        struct starter starter = {.place = starting->place,
                                  .template = text_print(starting->arena, "%s/site.yaml", starters).data,
                                  .methods = methods,
                                  .copied = starting->copied,
                                  .menu = starting->menu};
        ok = starter_write(&starter, fault);
    }
    memory_free(methods);
    memory_free(starters);
    return ok;
}

static enum status run(const struct arguments *arguments, struct fault *fault)
{
    AUTO(starter_place) place = NULL;
    if (!starter_place_read(argument_word(arguments, 0), &place, fault))
        return STATUS_FAILED;
    AUTO(arena) arena = arena_new();
    struct starting starting = {.arena = arena, .place = place};
    if (!start(&starting, arguments, fault))
        return STATUS_FAILED;
    print_next(&starting);
    return STATUS_DONE;
}

const struct command command_new = {
    .name = "new",
    .for_whom = "site that starts",
    .usage = "DIR [--method NAME]…",
    .summary = "writes a new site folder: settings, example methods, empty logs",
    .example = "assize new my-clinic --method hba1c-strip --method glucose-strip",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run,
};
