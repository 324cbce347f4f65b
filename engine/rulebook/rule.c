/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/rule_reader.h"

#include <string.h>

#include "rulebook/in_order.h"

bool reader_wrong(struct reader *reader, const char *field, const char *why)
{
    return fault_set(reader->fault, FAULT_RULE, "%.*s: %s: %s", TEXT_FORMAT(reader->rule->file), field, why);
}

bool reader_text_at(struct reader *reader, int index, const char *field, struct text *out)
{
    size_t size;
    const char *bytes = lua_tolstring(reader->lua, index, &size);
    *out = (struct text){0};
    if (size > RULE_TEXT_MOST)
        return reader_wrong(reader, field, "is longer than 1,000 bytes");
    *out = text_keep(reader->arena, (struct text){bytes, size});
    return true;
}

bool reader_text(struct reader *reader, const char *field, bool required, struct text *out)
{
    int type = lua_getfield(reader->lua, reader->table, field);
    *out = (struct text){0};
    bool ok = type == LUA_TSTRING || (type == LUA_TNIL && !required);
    if (type == LUA_TSTRING && !reader_text_at(reader, -1, field, out))
        return false;
    lua_pop(reader->lua, 1);
    if (!ok)
        return reader_wrong(reader, field, type == LUA_TNIL ? "is missing" : "must be a string");
    return !out->data || out->size ? true : reader_wrong(reader, field, "is empty");
}

static bool read_word(struct reader *reader, const char *field, const char *const *words, bool required, int *out)
{
    struct text word;
    if (!reader_text(reader, field, required, &word))
        return false;
    *out = -1;
    for (int i = 0; word.data && words[i]; i++)
        if (text_is(word, words[i]))
            *out = i;
    if (word.data && *out < 0) {
        const char *near = text_nearest(word, words);
        return reader_wrong(
            reader, field,
            text_string(reader->arena, text_print(reader->arena, "'%.*s' is not known here%s%s%s", TEXT_FORMAT(word),
                                                  near ? ", did you mean '" : "", near ? near : "", near ? "'?" : "")));
    }
    return true;
}

static bool read_basis(struct reader *reader)
{
    lua_State *lua = reader->lua;
    if (lua_getfield(lua, reader->table, "basis") != LUA_TTABLE) {
        lua_pop(lua, 1);
        return reader_wrong(reader, "basis", "must be a list of strings");
    }
    size_t count;
    if (!list_length(lua, -1, RULE_BASIS_MOST, &count))
        return reader_wrong(reader, "basis", "has too many entries");
    reader->rule->text.basis = arena_take(reader->arena, (count + 1) * sizeof(struct text));
    size_t size = 0;
    for (size_t i = 0; i < count; i++) {
        if (lua_geti(lua, -1, (lua_Integer)i + 1) != LUA_TSTRING)
            return reader_wrong(reader, "basis", "must be a list of strings");
        if (!reader_text_at(reader, -1, "basis", &reader->rule->text.basis[i]))
            return false;
        size += reader->rule->text.basis[i].size;
        lua_pop(lua, 1);
    }
    reader->rule->text.basis_count = count;
    lua_pop(lua, 1);
    if (size > RULE_TEXT_MOST)
        return reader_wrong(reader, "basis", "is longer than 1,000 bytes");
    return count ? true : reader_wrong(reader, "basis", "is empty");
}

static int parameter_named(const struct rule *rule, struct text name)
{
    for (size_t i = 0; i < rule->parameter_count; i++)
        if (text_equal(rule->parameters[i].name, name))
            return (int)i;
    return -1;
}

/* ---- facts and subject ---- */

bool scope_has(enum fact_scope on, enum fact_scope of)
{
    if (of == SCOPE_ANY || of == on)
        return true;
    bool of_a_run = on == SCOPE_RUN || on == SCOPE_TEST || on == SCOPE_CONTROL || on == SCOPE_CLAUSE ||
                    on == SCOPE_TASK || on == SCOPE_LOT;
    if (of == SCOPE_RUN)
        return of_a_run;
    return of == SCOPE_TEST && on == SCOPE_CLAUSE;
}

/* A fact by name that is known at the rule's events; -1 and the fault otherwise. */
static int fact_for(struct reader *reader, const char *field, struct text name)
{
    int fact = fact_named(name.data);
    if (fact >= 0 && scope_has(reader->rule->on, fact_rows[fact].scope))
        return fact;
    const char *near = text_nearest(name, fact_names());
    reader_wrong(reader, field,
                 text_string(reader->arena, fact >= 0 ? text_print(reader->arena, "'%s' is not known at each %s",
                                                                   name.data, fact_scope_name(reader->rule->on))
                                                      : text_print(reader->arena, "no fact is called '%s'%s%s%s",
                                                                   name.data, near ? ", did you mean '" : "",
                                                                   near ? near : "", near ? "'?" : "")));
    return -1;
}

static bool read_argument(struct reader *reader, struct text name)
{
    struct rule *rule = reader->rule;
    struct rule_argument *argument = &rule->arguments[rule->argument_count++];
    argument->optional = name.size && name.data[name.size - 1] == '?';
    if (argument->optional)
        name = text_of(text_string(reader->arena, (struct text){name.data, name.size - 1}));
    argument->number = parameter_named(rule, name);
    argument->parameter = argument->number >= 0;
    if (argument->parameter)
        return true;
    argument->number = fact_for(reader, "facts", name);
    if (argument->number < 0)
        return false;
    rule->facts[rule->fact_count++] =
        (struct rule_fact){argument->number, fact_rows[argument->number].type, argument->optional};
    return true;
}

static bool read_facts(struct reader *reader)
{
    lua_State *lua = reader->lua;
    if (lua_getfield(lua, reader->table, "facts") != LUA_TTABLE)
        return reader_wrong(reader, "facts", "must be a list of names");
    size_t count;
    if (!list_length(lua, -1, RULE_FACTS_MOST, &count))
        return reader_wrong(reader, "facts", "are too many");
    for (size_t i = 0; i < count; i++) {
        if (lua_geti(lua, -1, (lua_Integer)i + 1) != LUA_TSTRING)
            return reader_wrong(reader, "facts", "must be a list of names");
        struct text name;
        if (!reader_text_at(reader, -1, "facts", &name) || !read_argument(reader, name))
            return false;
        lua_pop(lua, 1);
    }
    lua_pop(lua, 1);
    return true;
}

static int subject_named(struct text name)
{
    for (int i = 0; i < SUBJECT_COUNT; i++)
        if (text_is(name, subject_field_name((enum subject_field)i)))
            return i;
    return -1;
}

/* { "analyzer", lot = "used_lot" }: a field alone takes the fact of its name; `record` the event's own record. */
static bool read_subject_field(struct reader *reader, struct text field, struct text fact)
{
    int at = subject_named(field);
    if (at < 0)
        return reader_wrong(reader, "subject",
                            "has a field that is none of method, analyzer, operator, lot, level, record, detail");
    struct rule_subject *subject = &reader->rule->subject[at];
    if (reader->rule->site_rule) {
        subject->from = FROM_JUDGE;
        return true;
    }
    if (at == SUBJECT_RECORD && text_equal(field, fact)) {
        subject->from = FROM_RECORD;
        return scope_has(reader->rule->on, SCOPE_RUN) ||
               reader_wrong(reader, "subject", "'record' is that of a run, and at these events there is none");
    }
    subject->from = FROM_FACT;
    subject->fact = fact_for(reader, "subject", fact);
    return subject->fact >= 0;
}

static bool read_subject(struct reader *reader)
{
    lua_State *lua = reader->lua;
    if (lua_getfield(lua, reader->table, "subject") != LUA_TTABLE)
        return reader_wrong(reader, "subject", "must be a table");
    int subject = lua_gettop(lua), count = 0;
    lua_pushnil(lua);
    while (next_in_order(lua, subject)) {
        if (++count > SUBJECT_COUNT)
            return reader_wrong(reader, "subject", "has too many fields");
        if (lua_type(lua, -1) != LUA_TSTRING)
            return reader_wrong(reader, "subject", "must hold names");
        struct text fact, field;
        if (!reader_text_at(reader, -1, "subject", &fact) ||
            !reader_text_at(reader, lua_type(lua, -2) == LUA_TSTRING ? -2 : -1, "subject", &field) ||
            !read_subject_field(reader, field, fact))
            return false;
        lua_pop(lua, 1);
    }
    lua_pop(lua, 1);
    return true;
}

static bool read_attributes(struct reader *reader)
{
    lua_State *lua = reader->lua;
    struct rule *rule = reader->rule;
    if (lua_getfield(lua, reader->table, "attribute") == LUA_TTABLE)
        for (size_t i = 0; i < RULE_ATTRIBUTES_MOST && lua_geti(lua, -1, (lua_Integer)i + 1) == LUA_TSTRING; i++) {
            if (!reader_text_at(reader, -1, "attribute", &rule->attributes[rule->attribute_count++]))
                return false;
            lua_pop(lua, 1);
        }
    lua_settop(lua, reader->table);
    return true;
}

/* ---- the rest ---- */

/* "{events:run} on {analyzer} …" into literals and placeholders. */
static bool read_says(struct reader *reader)
{
    struct text says;
    if (!reader_text(reader, "says", true, &says) || !says.data)
        return false;
    struct rule *rule = reader->rule;
    size_t capacity = 0;
    for (size_t i = 0; i < says.size; i++)
        capacity += says.data[i] == '{';
    if (capacity > SAYS_FILLS_MOST)
        return reader_wrong(reader, "says", "has more than 64 placeholders");
    rule->says = arena_take(reader->arena, (capacity + 1) * sizeof *rule->says);
    struct text rest = says;
    for (;;) {
        struct says_part *part = &rule->says[rule->says_count++];
        *part = (struct says_part){.literal = rest};
        const char *open = memchr(rest.data, '{', rest.size);
        if (!open)
            return true;
        const char *close = memchr(open, '}', (size_t)(rest.data + rest.size - open));
        if (!close)
            return reader_wrong(reader, "says", "has a { without its }");
        part->literal.size = (size_t)(open - rest.data);
        part->name = (struct text){open + 1, (size_t)(close - open - 1)};
        const char *colon = memchr(part->name.data, ':', part->name.size);
        if (colon) {
            part->form = (struct text){colon + 1, (size_t)(close - colon - 1)};
            part->name.size = (size_t)(colon - part->name.data);
        }
        rest = (struct text){close + 1, (size_t)(rest.data + rest.size - close - 1)};
    }
}

static bool read_affects(struct reader *reader)
{
    lua_State *lua = reader->lua;
    int type = lua_getfield(lua, reader->table, "affects");
    const char *word = type == LUA_TSTRING ? lua_tostring(lua, -1) : NULL;
    enum rule_affects *affects = &reader->rule->affects;
    *affects = reader->rule->site_rule ? AFFECTS_NONE : AFFECTS_FAILING;
    bool ok = type == LUA_TNIL || (type == LUA_TFUNCTION && !reader->rule->site_rule) ||
              (word && (!strcmp(word, "failing") || !strcmp(word, "none")));
    if (type == LUA_TFUNCTION)
        *affects = AFFECTS_FUNCTION;
    if (word && !strcmp(word, "none"))
        *affects = AFFECTS_NONE;
    lua_pop(lua, 1);
    return ok ? true : reader_wrong(reader, "affects", "must be \"failing\", \"none\" or, in a run rule, a function");
}

static bool read_duty(struct reader *reader)
{
    struct rule *rule = reader->rule;
    static const char *const duties[] = {"law", "insert", "policy", "accreditor", "practice", NULL};
    static const char *const severities[] = {"at-risk", "breach", "practice", "notice", NULL};
    struct text by;
    int duty, severity;
    if (!reader_text(reader, "by", false, &by))
        return false;
    rule->by_fact = -1;
    rule->text.by = by.data != NULL;
    if (by.data && !rule->site_rule) {
        rule->by_fact = fact_for(reader, "by", by);
        if (rule->by_fact < 0)
            return false;
    }
    if (!read_word(reader, "severity", severities, !by.data, &severity) ||
        !read_word(reader, "duty", duties, !by.data, &duty))
        return false;
    rule->text.severity = severity < 0 ? SEVERITY_PRACTICE : (enum severity)severity;
    rule->text.duty = duty < 0 ? DUTY_PRACTICE : (enum duty)duty;
    return true;
}

static bool read_from(struct reader *reader)
{
    struct text from;
    reader->rule->from_fact = -1;
    if (!reader_text(reader, "from", false, &from))
        return false;
    if (!from.data)
        return true;
    reader->rule->from_fact = fact_for(reader, "from", from);
    if (reader->rule->from_fact < 0)
        return false;
    return fact_rows[reader->rule->from_fact].type == FACT_PLACE ? true
                                                                 : reader_wrong(reader, "from", "must be a place");
}

static bool read_kind(struct reader *reader)
{
    static const char *const shapes[] = {"streak", "each", "state", NULL};
    static const char *const events[] = {"any", "run", "test",  "control", "clause", "task",
                                         "lot", "day", "entry", "pair",    NULL};
    struct rule *rule = reader->rule;
    int shape, on, needs;
    if (!read_word(reader, "on", events + 1, false, &on) || !read_word(reader, "finding", shapes, false, &shape) ||
        !read_word(reader, "needs", kind_names(), false, &needs))
        return false;
    rule->site_rule = on < 0;
    rule->on = on < 0 ? SCOPE_ANY : (enum fact_scope)(on + 1);
    rule->shape = shape < 0 ? SHAPE_STREAK : (enum finding_shape)shape;
    rule->needs = needs < 0 ? NULL : kind_of((enum kind_id)needs);
    return true;
}

static bool read_functions(struct reader *reader)
{
    lua_State *lua = reader->lua;
    int type = lua_getfield(lua, reader->table, "check");
    bool own = !lua_iscfunction(lua, -1);
    lua_pop(lua, 1);
    if (type != LUA_TFUNCTION || !own)
        return reader_wrong(reader, "check", "must be a function");
    type = lua_getfield(lua, reader->table, "examples");
    size_t count = 0;
    bool good = type == LUA_TTABLE && list_length(lua, -1, RULE_EXAMPLES_MOST, &count) && count >= 1;
    lua_pop(lua, 1);
    return good ? true : reader_wrong(reader, "examples", "must be a list of 1 to 1,000 examples");
}

static bool known_fields(struct reader *reader)
{
    static const char *const fields[] = {"id",    "title",  "severity", "duty",     "by",        "basis",   "on",
                                         "needs", "params", "subject",  "facts",    "attribute", "finding", "affects",
                                         "check", "says",   "remedy",   "examples", "about",     "from",    NULL};
    lua_State *lua = reader->lua;
    lua_pushnil(lua);
    while (next_in_order(lua, reader->table)) {
        lua_pop(lua, 1);
        bool known = false;
        const char *name = key_name(lua, -1);
        for (int i = 0; fields[i]; i++)
            known = known || !strcmp(fields[i], name);
        if (!known) {
            const char *near = text_nearest(text_of(name), fields);
            return reader_wrong(reader, name,
                                text_string(reader->arena, text_print(reader->arena, "is no field of a rule%s%s%s",
                                                                      near ? ", did you mean '" : "", near ? near : "",
                                                                      near ? "'?" : "")));
        }
    }
    return true;
}

/* It stands in pages, addresses of pages, settings and on terminals. */
static bool read_id(struct reader *reader)
{
    struct text *id = &reader->rule->text.id;
    if (!reader_text(reader, "id", true, id))
        return false;
    for (size_t i = 0; i < id->size; i++)
        if (!strchr("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.", id->data[i]))
            return reader_wrong(reader, "id", "must be THEME.NAME, of letters, digits, - and _");
    return true;
}

/* Each finding shows its rule's title, remedy and basis on some pages. */
static size_t long_text(const struct rule *rule)
{
    enum { USUAL = 1000 };
    size_t size = rule->text.title.size + rule->text.remedy.size;
    for (size_t i = 0; i < rule->text.basis_count; i++)
        size += rule->text.basis[i].size;
    return size > USUAL ? size - USUAL : 0;
}

bool rule_read(lua_State *lua, struct arena *arena, struct text file, struct text source, struct rule *out,
               struct fault *fault)
{
    *out = (struct rule){.file = file, .source = source};
    struct reader reader = {lua, lua_gettop(lua), arena, out, fault};
    if (!lua_istable(lua, -1))
        return reader_wrong(&reader, "rule", "the file must end with `return rule { … }`");
    bool ok = known_fields(&reader) && read_id(&reader) && reader_text(&reader, "title", true, &out->text.title) &&
              reader_text(&reader, "remedy", true, &out->text.remedy) &&
              reader_text(&reader, "about", false, &out->about) && read_basis(&reader) && read_kind(&reader) &&
              read_duty(&reader) && reader_parameters(&reader) && (out->site_rule || read_facts(&reader)) &&
              read_subject(&reader) && read_from(&reader) && read_attributes(&reader) && read_says(&reader) &&
              read_affects(&reader) && read_functions(&reader);
    lua_settop(lua, reader.table);
    out->long_text = long_text(out);
    return ok;
}
