-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "clinic.first-week",
  title = "In the first week after training, each result carries a note of who looked on",
  severity = "practice",
  duty = "policy",
  basis = { "the clinic's own policy" },
  on = "test",
  subject = { "operator", "method" },
  params = { days = { 7, unit = "days", meaning = "how long a colleague looks on after the first training" } },
  facts = { "day", "trained_on", "noted", "days" },
  check = function(day, trained_on, noted, days)
    if day > trained_on + days then return nil end
    return noted
  end,
  says = "{operator} ran {events:test} with {method} soon after {trained_on}, with no note of who looked on",
  remedy = "Ask who was there and write it into the row's note. If nobody was, have someone look on from now on.",
  examples = {
    { "two tests without a note",
      without = { "training" }, training = { { event = "initial", held_on = "2026-10-05" } },
      tests = { { performed_at = "2026-10-06 09:00" }, { performed_at = "2026-10-07 09:00" } },
      finds = { { operator = "ann", method = "strip", events = 2, tests = { "T1", "T2" } } }, judged = 2 },
    { "with a note",
      without = { "training" }, training = { { event = "initial", held_on = "2026-10-05" } },
      tests = { { performed_at = "2026-10-06 09:00", note = "ben looked on" } },
      finds = {}, judged = 1, met = 1 },
    { "the seventh day counts",
      without = { "training" }, training = { { event = "initial", held_on = "2026-10-05" } },
      tests = { { performed_at = "2026-10-12 23:59" } },
      finds = { { from = "2026-10-12 23:59" } }, judged = 1 },
    { "the eighth does not",
      without = { "training" }, training = { { event = "initial", held_on = "2026-10-05" } },
      tests = { { performed_at = "2026-10-13 00:00" } },
      finds = {}, judged = 0 },
    { "nobody was trained: people.trained says so", without = { "training" }, tests = { {} }, finds = {}, judged = 0 },
  },
}
