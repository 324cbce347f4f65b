/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands/period.h"

bool period_given(const struct arguments *arguments)
{
    return argument_flag(arguments, "month") || argument_flag(arguments, "from") || argument_flag(arguments, "to");
}

static bool read_as_of(const struct arguments *arguments, struct audit_key *out, struct fault *fault)
{
    return argument_day(arguments, "as-of", &out->as_of, fault) &&
           (out->as_of >= out->from || fault_set(fault, FAULT_USAGE, "--as-of lies before the period"));
}

bool period_read(const struct arguments *arguments, struct audit_key *out, struct fault *fault)
{
    bool month = argument_flag(arguments, "month"), from = argument_flag(arguments, "from"),
         to = argument_flag(arguments, "to");
    if (month == (from || to) || from != to)
        return fault_set(fault, FAULT_USAGE, "say which period: --month YYYY-MM, or --from and --to");
    if (!argument_month(arguments, "month", &out->from, &out->to, fault) ||
        !argument_day(arguments, "from", &out->from, fault) || !argument_day(arguments, "to", &out->to, fault))
        return false;
    if (out->from > out->to)
        return fault_set(fault, FAULT_USAGE, "--from lies after --to");
    out->as_of = out->to;
    return read_as_of(arguments, out, fault);
}

bool period_or_last(const struct arguments *arguments, struct store *store, struct audit_key *out, struct fault *fault)
{
    if (period_given(arguments))
        return period_read(arguments, out, fault);
    bool there;
    if (!store_last_audit(store, out, &there, fault))
        return false;
    if (!there)
        return fault_set(fault, FAULT_USAGE,
                         "no audit is kept in the store yet: say which period, or run assize audit");
    return read_as_of(arguments, out, fault);
}
