-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "analyzer.clock-check",
  title = "The analyzer's clock is checked from time to time",
  severity = "practice",
  duty = "policy",
  basis = { "ISO 15189:2022, 7.6 (from memory)", "common practice, no source" },
  on = "test",
  needs = "maintenance",
  params = { days = { 90, unit = "days", meaning = "how long a clock check lasts",
      off = 0 } },
  subject = { "analyzer" },
  facts = { "at", "run_seconds", "clock_checked_at?", "days" },
  affects = "none",
  check = function(at, _, checked, days)
    return checked ~= nil and at - checked <= days * 86400
  end,
  says = "{events:test} on {analyzer} with no clock check in the days before (the latest: {clock_checked_at})",
  remedy = "Compare the analyzer's clock with a good one, set it if need be, and enter a clock-check in the " ..
    "maintenance log.",
  examples = {
    { "91 days after", maintenance = { { analyzer = "A1", event = "clock-check", done_at = "2026-07-09 09:00" } },
      without = { "maintenance" },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = { { analyzer = "A1", events = 1, tests = {} } },
      judged = 1 },
    { "exactly 90 times 24 hours after",
      maintenance = { { analyzer = "A1", event = "clock-check", done_at = "2026-07-10 09:00" } },
      without = { "maintenance" },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = {}, judged = 1, met = 1 },
    { "never", maintenance = { { analyzer = "G1", event = "clock-check", done_at = "2026-10-01 09:00" } },
      without = { "maintenance" },
      tests = { {} }, finds = { { analyzer = "A1" } } },
    { "a cassette has no clock",
      tests = { { analyzer = "B1", lot = "K1", code = "", result = "negative", unit = "" } }, finds = {},
      judged = 0 },
    { "switched off", settings = { site = "policy: {analyzer.clock-check: {days: 0}}" }, tests = { {} }, finds = {},
      judged = 0 },
  },
}
