-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "analyzer.in-service",
  title = "Each run is on an analyzer that is in service for its method that day",
  severity = "practice",
  duty = "practice",
  basis = { "common practice, no source" },
  on = "run",
  subject = { "analyzer" },
  facts = { "day", "analyzer_known", "in_service_on?", "retired_on?" },
  check = function(day, known, from, to)
    return known and day >= from and (to == nil or day <= to)
  end,
  says = "{events:run} on {analyzer}, which was not in service for {method} on {day}",
  remedy = "Put the analyzer on the analyzers log with its method and days of service. If it was out of service, " ..
    "the laboratory director reviews the results listed.",
  examples = {
    { "after it was retired", analyzers = { { analyzer = "A1", method = "strip", retired_on = "2026-10-07" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = { { analyzer = "A1", tests = { "T1" } } },
      judged = 1 },
    { "in service", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "on its first and its last day",
      analyzers = { { analyzer = "A1", method = "strip", in_service_on = "2026-10-08", retired_on = "2026-10-08" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = {}, met = 1 },
    { "an analyzer that is on no log", tests = { { analyzer = "X9" } }, finds = { { analyzer = "X9" } } },
    { "on the log, but for another method", tests = { { method = "meter" } }, finds = { { analyzer = "A1" } } },
    { "nothing was run", finds = {}, judged = 0 },
  },
}
