-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "controls.lot",
  title = "Controls come from a control lot that is in date and at hand",
  severity = "at-risk",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1)" },
  on = "control",
  subject = { "analyzer", lot = "control_lot" },
  facts = { "day", "control_received_on", "control_expires_on", "control_discarded_on?" },
  check = function(day, received, expires, discarded)
    return received <= day and day <= expires and (discarded == nil or day <= discarded)
  end,
  affects = function(f)
    return tests { analyzer = f.analyzer, method = f.method, after = f.run, day = f.day }
  end,
  says = "{events:control} on {analyzer} from control lot {control_lot}, good until {control_expires_on}",
  remedy = "Throw the control away, open one in date, run it now. The laboratory director reviews the results " ..
    "listed.",
  examples = {
    { "the day after its expiry",
      lots = { { lot = "C1", method = "strip", use = "control", level = "low", expires_on = "2026-10-07" } },
      controls = { { performed_at = "2026-10-08 08:00" } },
      tests = { { performed_at = "2026-10-08 07:00" }, { performed_at = "2026-10-08 09:00" },
        { performed_at = "2026-10-09 09:00" } },
      finds = { { analyzer = "A1", lot = "C1", tests = { "T2" } } }, judged = 1 },
    { "on its last day",
      lots = { { lot = "C1", method = "strip", use = "control", level = "low", expires_on = "2026-10-08" } },
      controls = { { performed_at = "2026-10-08 08:00" } }, finds = {}, judged = 1, met = 1 },
    { "before it came in",
      lots = { { lot = "C1", method = "strip", use = "control", level = "low", received_on = "2026-10-09" } },
      controls = { { performed_at = "2026-10-08 08:00" } }, finds = { { lot = "C1" } } },
    { "in date", controls = { {} }, finds = {}, met = 1 },
    { "an unknown control lot is named by lots.known", controls = { { control_lot = "C9" } }, finds = {},
      judged = 0 },
  },
}
