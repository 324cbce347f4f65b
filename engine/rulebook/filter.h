/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Filters over the runs of a site's time line, as rules write them: { analyzer = "A1", after = place, upto = time }. */
#ifndef ASSIZE_RULEBOOK_FILTER_H
#define ASSIZE_RULEBOOK_FILTER_H

#include "rulebook/host.h"

struct filter {
    bool has_analyzer, has_method, has_lot, has_operator, has_specimen, only_tests, only_controls, in_period, has_day;
    uint32_t analyzer, method, lot, operator_; /* names; 0 if no record has the word */
    struct text specimen;
    day_number day, from, to;
    int64_t after, before;                        /* places */
    moment since, upto, later_than, earlier_than; /* MOMENT_ABSENT: open */
    moment written_since, written_upto;           /* of recorded_at; likewise */
};

/* Reads the table at `index`; raises an error for a field that is none. */
void filter_read(lua_State *lua, struct host *host, int index, struct filter *out);
uint32_t filter_first(const struct history *history, const struct filter *filter);
/* Moves *place on to the next run that fits, from *place itself; false behind the last. The runs passed over are
 * charged to the rule. */
bool filter_next(lua_State *lua, const struct history *history, const struct filter *filter, uint32_t *place);
/* Looking at runs on behalf of a rule has a price. */
void charge_runs(lua_State *lua, size_t looked_at);

#endif
