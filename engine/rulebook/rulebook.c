/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/rulebook.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include <lauxlib.h>

#include "base/digest.h"
#include "base/installed.h"

struct rulebook *rulebook_new(void)
{
    struct rulebook *book = memory_new(sizeof *book);
    book->arena = arena_new();
    return book;
}

void rulebook_free(struct rulebook *book)
{
    if (!book)
        return;
    memory_free(book->rules);
    memory_free(book->broken);
    memory_free(book->shared);
    arena_free(book->arena);
    memory_free(book);
}

const struct rule *rulebook_find(const struct rulebook *book, struct text id)
{
    for (size_t i = 0; i < book->count; i++)
        if (text_equal(book->rules[i].text.id, id))
            return &book->rules[i];
    return NULL;
}

bool rulebook_home(char **path, struct fault *fault) { return installed_folder("rules", path, fault); }

/* ---- reading folders ---- */

enum { DEPTH_MOST = 8 }; /* a link may lead back to where it lies */

struct paths {
    char **all; /* relative to the folder */
    size_t count, capacity;
};

static int by_name(const void *a, const void *b) { return strcmp(*(char *const *)a, *(char *const *)b); }

static bool find_files(struct paths *paths, const char *folder, const char *below, int depth, struct fault *fault);

/* A rule that is not found is not judged, and nobody would know: so what cannot be looked at is a fault. */
static bool find_at(struct paths *paths, const char *folder, const char *below, const char *entry, int depth,
                    struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct text name = text_print(arena, "%s%s%s", below, *below ? "/" : "", entry);
    struct text path = text_print(arena, "%s/%s", folder, name.data);
    struct stat status;
    bool can_see = stat(path.data, &status) == 0;
    if (!can_see && errno != ENOENT && errno != ENOTDIR && errno != ELOOP)
        return fault_set(fault, FAULT_FILE, "%s: cannot be read: %s", path.data, strerror(errno));
    bool is_folder = can_see && S_ISDIR(status.st_mode);
    if (!is_folder && name.size > 4 && !strcasecmp(name.data + name.size - 4, ".lua")) {
        VECTOR_GROW(paths->all, paths->count, paths->capacity);
        paths->all[paths->count++] = memory_copy_string(name.data);
        return true;
    }
    bool is_another_matter = depth == 0 && (strcmp(entry, "example-site") == 0 || strcmp(entry, "data") == 0 ||
                                            strcmp(entry, "shared") == 0);
    if (!is_folder || entry[0] == '.' || is_another_matter)
        return true;
    if (depth == DEPTH_MOST)
        return fault_set(fault, FAULT_FILE, "%s: lies too deep for a folder of rules", path.data);
    return find_files(paths, folder, name.data, depth + 1, fault);
}

static bool find_files(struct paths *paths, const char *folder, const char *below, int depth, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct text path = text_print(arena, "%s/%s", folder, below);
    struct folder_names names;
    bool ok = folder_names_read(path.data, &names) ||
              fault_set(fault, FAULT_FILE, "%s: cannot be read: %s", path.data, strerror(errno));
    for (size_t i = 0; ok && i < names.count; i++)
        ok = find_at(paths, folder, below, names.names[i], depth, fault);
    folder_names_free(&names);
    return ok;
}

static void note_broken(struct rulebook *book, struct text file, const char *why)
{
    VECTOR_GROW(book->broken, book->broken_count, book->broken_capacity);
    book->broken[book->broken_count++] = (struct broken_file){file, text_keep(book->arena, text_of(why))};
}

/* `rule { … }` gives its table back: the file's last line returns it. */
static int take_rule(lua_State *lua)
{
    luaL_checktype(lua, 1, LUA_TTABLE);
    lua_settop(lua, 1);
    return 1;
}

static int not_while_loading(lua_State *lua) { return luaL_error(lua, NOT_WHILE_LOADING); }

/* ---- shared parts ---- */

enum { COST_OF_PARSING = 10 }; /* instructions for a byte */

/* The rules of a folder may use its own parts, and the installed ones. */
static bool may_use(struct text folder, const struct shared_part *part)
{
    return part->installed || text_equal(folder, part->folder);
}

static const struct shared_part *shared_named(const struct rulebook *book, struct text name, struct text folder)
{
    for (size_t i = 0; i < book->shared_count; i++)
        if (text_equal(book->shared[i].name, name) && may_use(folder, &book->shared[i]))
            return &book->shared[i];
    return NULL;
}

static int api_shared(lua_State *lua)
{
    const struct sharing *sharing = lua_touserdata(lua, lua_upvalueindex(1));
    const char *name = luaL_checkstring(lua, 1);
    const struct shared_part *part = shared_named(sharing->book, text_of(name), sharing->folder);
    struct fault fault = {0};
    if (!part)
        return luaL_error(lua, "there is no shared part '%s'", name);
    if (!sandbox_takes(part->file.data, part->source, &fault))
        return luaL_error(lua, "%s", fault.text);
    sandbox_charge(lua, (int64_t)part->source.size * COST_OF_PARSING);
    lua_pushfstring(lua, "@%s", part->file.data);
    if (luaL_loadbufferx(lua, part->source.data, part->source.size, lua_tostring(lua, -1), "t") != LUA_OK)
        return lua_error(lua);
    sandbox_push_environment(lua);
    lua_setupvalue(lua, -2, 1);
    lua_call(lua, 0, 1);
    return 1;
}

void rulebook_share(struct sandbox *sandbox, const struct sharing *sharing)
{
    sandbox_offer(sandbox, "shared", api_shared, (void *)(uintptr_t)sharing);
}

static bool read_source(struct rulebook *book, const char *folder, const char *file, struct text *out,
                        struct fault *fault)
{
    struct file_bytes bytes;
    if (!file_read_begin(text_print(book->arena, "%s/%s", folder, file).data, SANDBOX_SOURCE_MOST + 1, &bytes, fault))
        return false;
    *out = text_keep(book->arena, (struct text){bytes.data, bytes.size});
    memory_free(bytes.data);
    return true;
}

/* A part with the name of an installed one would be one for the other; a copy does no harm. */
static bool add_shared(struct rulebook *book, const char *below, const char *shown, const char *file,
                       struct fault *fault)
{
    struct shared_part part = {.name = text_keep(book->arena, (struct text){file, strlen(file) - strlen(".lua")}),
                               .file = text_print(book->arena, "%s/shared/%s", shown, file),
                               .folder = text_keep(book->arena, text_of(shown)),
                               .installed = book->folder_count == 1};
    if (!read_source(book, below, file, &part.source, fault))
        return false;
    const struct shared_part *same = shared_named(book, part.name, part.folder);
    if (same && !text_equal(same->source, part.source))
        return fault_set(fault, FAULT_RULE, "%.*s: the name of the shared part '%.*s' is taken by %.*s",
                         TEXT_FORMAT(part.file), TEXT_FORMAT(part.name), TEXT_FORMAT(same->file));
    if (same)
        return true;
    VECTOR_GROW(book->shared, book->shared_count, book->shared_capacity);
    book->shared[book->shared_count++] = part;
    return true;
}

static bool read_shared(struct rulebook *book, const char *folder, const char *shown, struct fault *fault)
{
    struct paths paths = {0};
    struct text below = text_print(book->arena, "%s/shared", folder);
    bool ok = !file_exists(below.data) || find_files(&paths, below.data, "", 0, fault);
    if (paths.count)
        qsort(paths.all, paths.count, sizeof *paths.all, by_name);
    for (size_t i = 0; i < paths.count; i++) {
        ok = ok && add_shared(book, below.data, shown, paths.all[i], fault);
        memory_free(paths.all[i]);
    }
    memory_free(paths.all);
    return ok;
}

/* With its size before it, so that no byte can move from one text to the next. */
static void hash_text(struct digest *digest, struct text text)
{
    char size[24];
    int length = snprintf(size, sizeof size, "%zu:", text.size);
    digest_add(digest, size, (size_t)length);
    digest_add(digest, text.data, text.size);
}

/* What a rule is: its file and the parts that it may use, with their names. */
static void hash_rule(const struct rulebook *book, struct rule *rule)
{
    unsigned char sum[DIGEST_SIZE];
    AUTO(digest) digest = digest_new();
    hash_text(digest, rule->source);
    for (size_t i = 0; i < book->shared_count; i++) {
        if (!may_use(rule->folder, &book->shared[i]))
            continue;
        hash_text(digest, book->shared[i].name);
        hash_text(digest, book->shared[i].source);
    }
    digest_end(digest, sum);
    digest_hex(sum, rule->text.sha256);
}

/* A box for one file, whose functions are not to be called. */
static struct sandbox *new_reading_box(const struct sharing *sharing)
{
    struct sandbox *sandbox = sandbox_new();
    sandbox_offer(sandbox, "rule", take_rule, NULL);
    rulebook_share(sandbox, sharing);
    for (const char *const *name =
             (const char *const[]){"judge", "met", "tests", "next_lot_change", "finding_number", NULL};
         *name; name++)
        sandbox_offer(sandbox, *name, not_while_loading, NULL);
    return sandbox;
}

static bool run_file(struct sandbox *sandbox, const char *shown, struct text source, struct fault *fault)
{
    struct sandbox_program program;
    if (!sandbox_compile(sandbox, shown, source, &program, fault))
        return false;
    lua_State *lua = sandbox_lua(sandbox);
    lua_rawgeti(lua, LUA_REGISTRYINDEX, program.chunk);
    sandbox_push_environment(lua);
    lua_setupvalue(lua, -2, 1);
    return sandbox_call(sandbox, &program, 0, 1, SANDBOX_SITE_BUDGET, fault);
}

static bool add_file(struct rulebook *book, const char *folder, const char *beside, const char *name,
                     struct fault *fault)
{
    struct sharing sharing = {book, text_of(beside)};
    AUTO(sandbox) sandbox = new_reading_box(&sharing);
    struct text source;
    if (!read_source(book, folder, name, &source, fault))
        return false;
    struct text shown = text_print(book->arena, "%s/%s", beside, name);
    struct fault broken = {0};
    struct rule rule;
    bool good = run_file(sandbox, shown.data, source, &broken) &&
                rule_read(sandbox_lua(sandbox), book->arena, shown, source, &rule, &broken);
    if (!good) {
        note_broken(book, shown, broken.text);
        return true;
    }
    rule.folder = text_keep(book->arena, text_of(beside));
    hash_rule(book, &rule);
    const struct rule *same = rulebook_find(book, rule.text.id);
    if (same)
        return fault_set(fault, FAULT_RULE, "%.*s: id: '%.*s' is taken by %.*s", TEXT_FORMAT(shown),
                         TEXT_FORMAT(rule.text.id), TEXT_FORMAT(same->file));
    VECTOR_GROW(book->rules, book->count, book->capacity);
    book->rules[book->count++] = rule;
    return true;
}

static int by_id(const void *a, const void *b)
{
    return text_compare(((const struct rule *)a)->text.id, ((const struct rule *)b)->text.id);
}

bool rulebook_add_parts(struct rulebook *book, const char *folder, const char *shown, struct fault *fault)
{
    book->folder_count++;
    return read_shared(book, folder, shown, fault);
}

bool rulebook_add(struct rulebook *book, const char *folder, const char *shown, struct fault *fault)
{
    if (!path_is_folder(folder))
        return fault_set(fault, FAULT_FILE, "%s: no such folder", folder);
    struct paths paths = {0};
    if (!rulebook_add_parts(book, folder, shown, fault))
        return false;
    bool ok = find_files(&paths, folder, "", 0, fault);
    if (paths.count)
        qsort(paths.all, paths.count, sizeof *paths.all, by_name);
    for (size_t i = 0; ok && i < paths.count; i++)
        ok = add_file(book, folder, shown, paths.all[i], fault);
    for (size_t i = 0; i < paths.count; i++)
        memory_free(paths.all[i]);
    memory_free(paths.all);
    if (book->count)
        qsort(book->rules, book->count, sizeof *book->rules, by_id);
    return ok;
}
