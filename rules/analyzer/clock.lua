-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "analyzer.clock",
  title = "An analyzer's clock does not run backwards",
  severity = "at-risk",
  duty = "practice",
  basis = { "ISO 15189:2022, 7.6 (from memory)", "common practice, no source" },
  on = "pair",
  params = { slack_minutes = { 5, unit = "min", meaning = "by how much it may seem to go back" } },
  subject = { "analyzer" },
  facts = { "seconds_back", "slack_minutes" },
  finding = "each",
  check = function(back, slack)
    return back <= slack * 60
  end,
  affects = function(f)
    return { f.earlier_run, f.later_run }
  end,
  says = "By its counter {later_run} came after {earlier_run}, but by its clock before it",
  remedy = "Set the analyzer's clock and write down by how much it was wrong. Correct the times in the log with a " ..
    "note. The laboratory director reviews whether the results went to the right patients.",
  about = "Runs are put in order by the analyzer's own counter. A replacement of the analyzer, or a fall of the " ..
    "counter by more than 1000, begins a new count.",
  examples = {
    { "six minutes back",
      tests = { { performed_at = "2026-10-08 09:10", sequence = "1" },
        { performed_at = "2026-10-08 09:04", sequence = "2" } },
      finds = { { analyzer = "A1", from = "2026-10-08 09:04", to = "2026-10-08 09:04", tests = { "T2", "T1" } } },
      judged = 1 },
    { "five minutes back is within the slack",
      tests = { { performed_at = "2026-10-08 09:10", sequence = "1" },
        { performed_at = "2026-10-08 09:05", sequence = "2" } },
      finds = {}, judged = 1, met = 1 },
    { "in order",
      tests = { { performed_at = "2026-10-08 09:00", sequence = "1" },
        { performed_at = "2026-10-08 09:10", sequence = "2" } }, finds = {}, met = 1 },
    { "no counter in the log",
      tests = { { performed_at = "2026-10-08 09:00" }, { performed_at = "2026-10-08 09:10" } }, finds = {},
      judged = 0 },
    { "a new counter after a replacement",
      maintenance = { { analyzer = "A1", event = "replacement", done_at = "2026-10-08 09:05" } },
      tests = { { performed_at = "2026-10-08 09:00", sequence = "500" },
        { performed_at = "2026-10-08 09:20", sequence = "1" } }, finds = {}, judged = 0 },
  },
}
