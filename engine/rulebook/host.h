/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The host of a rulebook: a box for each of its rules, and site after site judged by them. Inside of the rulebook
 * room.
 *
 * For each site every rule file runs anew in a new environment, so no rule keeps anything from one site to the next.
 * None reaches another: they have no state in common. What rules answer is counted here and gathered into streaks;
 * host_end hands out the findings. */
#ifndef ASSIZE_RULEBOOK_HOST_H
#define ASSIZE_RULEBOOK_HOST_H

#include "base/map.h"
#include "findings/streaks.h"
#include "rulebook/rulebook.h"

struct period {
    day_number from, to, as_of;
};

enum verdict { VERDICT_NOT_APPLICABLE, VERDICT_MET, VERDICT_FAILED };

enum { ANSWERS_KEPT = 32 }; /* runs of a few analyzers, lots and people come in turns */

struct answer { /* of a run rule: the same question has the same answer */
    bool known;
    uint32_t method_index; /* parameters are the same for the same method */
    struct fact *facts;    /* of the rule, as they were */
    enum verdict verdict;
    int attribute; /* -1: none was told */
};

enum { COST_OF_LONG_TEXT = 1200 }; /* instructions for a byte that a finding shows beyond the usual: pages set it */

enum { COST_OF_A_PUSHED_BYTE = 5 }; /* instructions, of all calls; of a list of words each may be a byte long */

struct instance { /* a rule at the site in hand */
    const struct rule *rule;
    struct sandbox *sandbox;
    struct sandbox_program compiled, program; /* as it was compiled, and at the site in hand */
    int table, check, affects;                /* references in the Lua registry; LUA_NOREF */
    struct streaks *streaks;
    enum judged_state state;
    struct text why;
    bool broke;
    uint64_t judged, met;
    struct parameter_value *values; /* parameter_count for each method, and once more for no method */
    bool *lacks;                    /* a parameter that must be there: for each method, and once more for no method */
    struct answer *answers; /* ANSWERS_KEPT of earlier calls, each at the place that its question has by its hash */
    const struct answer *answer; /* to the event in hand */
};

struct watcher { /* told of each event and each verdict of a run rule, for trace; functions may be NULL */
    walk_function *event;
    void (*verdict)(void *context, const struct instance *instance, const struct event *event, enum verdict verdict);
    void *context;
};

struct host {
    const struct rulebook *book;
    const struct rulebook
        *known[2];            /* where a rule that asks for another's parameter finds it; the second may be NULL */
    const struct host *after; /* NULL, or one that has judged the site in hand: what it did not judge is passed over
                                 here, and what its rules have left of their budgets is what they have here */
    struct sharing sharing;
    lua_State *lua;                           /* of the rule in hand */
    struct instance *instances;               /* as book->rules */
    struct instance **listening[SCOPE_COUNT]; /* run rules judged at the site in hand at events of a scope; NULL ends */
    struct instance *running; /* whose function is being called; NULL between calls, and while a file is run */

    /* the site in hand */
    const struct history *history;
    const struct policies *policies;
    struct period period;
    bool begun_late; /* the walk begins with the period, and there are runs before it */
    struct arena *arena;
    struct names *subjects; /* texts of subjects that are no names of the store: ids with SUBJECT_OWN */
    struct watcher watcher;
};

#define SUBJECT_OWN 0x80000000u

struct host *host_new(const struct rulebook *book);
void host_free(struct host *host);
OWNER(host);

/* Judges a site: every run rule at each event of its walk, then every site rule. */
void host_judge_site(struct host *host, const struct history *history, const struct policies *policies,
                     struct period period);
/* Forgets the site; instances and streaks are gone then. */
void host_leave_site(struct host *host);

struct text host_subject_text(const struct host *host, uint32_t id);
uint32_t host_subject_id(struct host *host, struct text text);
struct parameter_value host_parameter(const struct host *host, const struct instance *instance, int number,
                                      uint32_t method_index);
size_t host_method(const struct host *host, uint32_t method_index); /* the place of its values in an instance */
bool host_in_period(const struct host *host, day_number day);

/* ---- its parts ---- */

/* values.c: between C and Lua. A time is an integer if it was written with seconds, else a float: so its precision goes
 * along. */
void push_text(lua_State *lua, struct text text); /* nil if absent */
void push_time(lua_State *lua, moment at);
void push_day(lua_State *lua, day_number day);
void push_fact(lua_State *lua, const struct history *history, int fact, const struct fact *value);
void push_parameter(lua_State *lua, enum parameter_type type, const struct parameter_value *value);
moment to_moment(lua_State *lua, int index);                /* raises an error if it is no time near the calendar's */
day_number to_day(lua_State *lua, int index);               /* the same of a day */
struct text to_text(lua_State *lua, int index);             /* borrowed from the stack's value; absent if nil */
struct text host_keep(struct host *host, struct text text); /* copied for the site's time, at the rule's cost */
struct host *host_of(lua_State *lua);                       /* of a function offered with the host as its upvalue */

/* says.c: what a finding says. Fills are texts for the rule's placeholders, absent for those known only at its end. */
struct text *fills_from_event(struct host *host, const struct instance *instance, const struct event *event);
struct text *fills_from_judge(struct host *host, const struct instance *instance, int table);
/* Instructions of all calls that a finding costs by the length of its sentence and of what stands beside it. */
int64_t says_cost(const struct rule *rule, const struct text *fills);
struct text says_finding(const struct rule *rule, const struct streak *streak, const struct finding *finding,
                         struct arena *arena);
struct text fact_text(const struct host *host, int fact, const struct fact *value, struct arena *arena);
struct text when_text(struct when when, struct arena *arena);
struct text run_record_text(const struct history *history, const struct run *run, bool with_result,
                            struct arena *arena);

/* judge.c: run rules; and what both ways of judging need. */
void judge_event(struct host *host, struct instance *instance, const struct event *event, bool in_period);
/* A duty that a clause names: law and insert make a breach, the others are practice. */
void streak_set_duty(struct streak *streak, const struct rule *rule, struct text by);
/* The list of places at the top of the stack, popped; holes in it, and runs that are no tests, are left out. False if
 * it holds something else: an affected result must not be lost by a slip. */
bool take_tests(struct host *host, struct streak *streak);

/* windows.c, stats_api.c, multirule_api.c, site_api.c, told.c: functions that rules call */
void windows_offer(struct host *host, struct sandbox *sandbox);
void stats_offer(struct sandbox *sandbox);
void multirule_offer(struct sandbox *sandbox); /* by stats_offer */
void site_push(struct host *host);             /* the site's table */
void site_offer(struct sandbox *sandbox);
int site_records(lua_State *lua); /* site_records.c, site_runs.c: functions of that table */
int site_runs(lua_State *lua);
int site_run(lua_State *lua);
void judge_offer(struct host *host, struct sandbox *sandbox);
enum { COST_OF_A_TEST = 100 }; /* affected, in instructions: all are kept and told */

/* Takes a rule in hand: what is pushed from here on is for it. */
void host_take(struct host *host, struct instance *instance);
/* Calls a function of the rule's, as sandbox_call does. */
bool host_call(struct host *host, struct instance *instance, int arguments, int results, int64_t budget,
               struct fault *fault);
/* Whose function it is that calls the one of the host's in hand; raises an error where a file is run for its table. */
struct instance *running_instance(lua_State *lua);
void host_break(struct host *host, struct instance *instance, const struct fault *fault);

#endif
