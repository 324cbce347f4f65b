-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "comparison.schedule",
  title = "Each method is compared with others often enough: by proficiency or split samples",
  severity = "practice",
  duty = "accreditor",
  basis = { "CAP: proficiency testing of waived tests on its activity menu",
    "CDC, Good Laboratory Practices for Waived Testing Sites, MMWR 2005;54(RR-13) (from memory)",
    "common practice, no source" },
  params = { events_per_year = { meaning = "rounds a year", method = "comparison.events_per_year" } },
  subject = { "method" },
  finding = "state",
  check = function(site)
    local rounds, used_all_year = {}, {}
    for _, row in ipairs(site.records "analyzers") do
      local until_now = row.retired_on == nil or row.retired_on >= site.as_of
      if row.in_service_on <= site.as_of - 365 and until_now then used_all_year[row.method] = row end
    end
    for _, row in ipairs(site.records "comparisons") do
      local day = day_of(row.tested_at)
      local method = row.method or site.method_of(row.analyzer, day)
      if method and day > site.as_of - 365 then
        rounds[method] = rounds[method] or { seen = {}, rows = {} }
        if not rounds[method].seen[row.event] then table.insert(rounds[method].rows, row) end
        rounds[method].seen[row.event] = true
      end
    end
    for _, method in ipairs(site.menu) do
      local asked = site.param("events_per_year", method)
      if asked and used_all_year[method] then
        local because = rounds[method] and rounds[method].rows or { used_all_year[method] }
        local done = rounds[method] and #because or 0
        judge { ok = done >= asked, method = method, done = done, asked = asked, because = because }
      end
    end
  end,
  says = "{method}: rounds of comparison in the last 365 days: {done}, asked for: {asked}",
  remedy = "Order proficiency samples, or split samples with a laboratory, now. Enter each result in the " ..
    "comparisons log.",
  about = "Asked of methods on the menu with an analyzer that was in service for the 365 days before. A round " ..
    "counts once, however many samples it has.",
  examples = {
    { "one round of two", comparisons = { { event = "r1" } }, finds = { { method = "strip", events = 1 } },
      judged = 1 },
    { "two rounds", comparisons = { { event = "r1" }, { event = "r2" } }, finds = {}, judged = 1, met = 1 },
    { "a round has many samples", comparisons = { { event = "r1" }, { event = "r1" } },
      finds = { { method = "strip" } } },
    { "the 365th day back counts, the 366th does not",
      settings = { strip = "comparison: {events_per_year: 1}" }, from = "2026-10-01", to = "2026-10-31",
      comparisons = { { event = "r1", tested_at = "2025-11-01 00:00" } }, finds = {}, met = 1 },
    { "a day earlier", settings = { strip = "comparison: {events_per_year: 1}" },
      comparisons = { { event = "r1", tested_at = "2025-10-31 23:59" } }, finds = { { method = "strip" } } },
    { "no comparisons log is kept", without = { "comparisons" }, finds = { { method = "strip" } } },
    { "in service for exactly 365 days", analyzers = { { in_service_on = "2025-10-31" } },
      finds = { { method = "strip" } } },
    { "in service for less than a year", analyzers = { { in_service_on = "2025-11-01" } }, finds = {}, judged = 0 },
    { "out of service", analyzers = { { retired_on = "2026-10-30" } }, finds = {}, judged = 0 },
    { "not on the menu", settings = { site = "menu: [meter]" }, finds = {}, judged = 0 },
  },
}
