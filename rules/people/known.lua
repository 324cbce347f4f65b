-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "people.known",
  title = "Whoever runs a test is on the operators log and at work that day",
  severity = "practice",
  duty = "practice",
  basis = { "The Joint Commission WT.02.01.01 (from memory)", "ISO 15189:2022, 7.6 (from memory)",
    "common practice, no source" },
  on = "run",
  subject = { "operator" },
  facts = { "day", "operator_known", "operator_started_on?", "operator_left_on?" },
  check = function(day, known, started, left)
    return known and day >= started and (left == nil or day <= left)
  end,
  says = "{events:run} by {operator}, who is not on the operators log for these days",
  remedy = "Find out who ran these. Put the person on the operators log with the first day (and last day) at " ..
    "work, or note whose id was used by mistake.",
  examples = {
    { "not on the log", tests = { { operator = "zoe" } }, finds = { { operator = "zoe", tests = { "T1" } } },
      judged = 1 },
    { "on the log", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "on the last day, and the day after", operators = { { operator = "ann", left_on = "2026-10-08" } },
      tests = { { performed_at = "2026-10-08 09:00" }, { performed_at = "2026-10-09 09:00" } },
      finds = { { operator = "ann", tests = { "T2" } } }, judged = 2, met = 1 },
    { "on the first day", operators = { { operator = "ann", started_on = "2026-10-08" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = {}, met = 1 },
    { "controls count, but no patient is touched", controls = { { operator = "zoe" } },
      finds = { { operator = "zoe", tests = {} } } },
    { "nothing was run", finds = {}, judged = 0 },
  },
}
