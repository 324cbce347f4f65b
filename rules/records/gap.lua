-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "records.gap",
  title = "No run is missing between two numbers of an analyzer's counter",
  severity = "at-risk",
  duty = "practice",
  basis = { "common practice, no source" },
  on = "pair",
  subject = { "analyzer" },
  facts = { "numbers_missing", "earlier_run", "later_run" },
  finding = "each",
  from = "earlier_run",
  affects = "none",
  check = function(missing)
    return missing == 0
  end,
  says = "{analyzer}'s counter, from {earlier_run} to {later_run}: numbers that are on no log: {numbers_missing}",
  remedy = "Look into the analyzer's memory for the missing numbers. Enter them, or write down what they were (a " ..
    "spoilt strip, a check of the analyzer). If patients were tested, the laboratory director reviews those results.",
  about = "Numbers of rows that were refused are not missing. A replacement of the analyzer, or a fall of the " ..
    "counter by more than 1000, begins a new count.",
  examples = {
    { "one number missing", tests = { { sequence = "7" }, { performed_at = "2026-10-08 10:00", sequence = "9" } },
      finds = { { analyzer = "A1", from = "2026-10-08 09:00", to = "2026-10-08 10:00", tests = {} } }, judged = 1 },
    { "none missing", tests = { { sequence = "7" }, { performed_at = "2026-10-08 10:00", sequence = "8" } },
      finds = {}, judged = 1, met = 1 },
    { "the number of a refused row is not missing",
      refused = { { kind = "tests", file = "records/tests.csv", line = 3, reason = "x", analyzer = "A1",
          sequence = 8 } },
      tests = { { sequence = "7" }, { performed_at = "2026-10-08 10:00", sequence = "9" } }, finds = {}, met = 1 },
    { "a fall by exactly 1000 is no new era, by 1001 it is",
      tests = { { sequence = "2000" }, { performed_at = "2026-10-08 10:00", sequence = "999" },
        { performed_at = "2026-10-08 11:00", sequence = "1000" } },
      finds = {}, judged = 1, met = 1 },
    { "no counter in the log", tests = { {}, { performed_at = "2026-10-08 10:00" } }, finds = {}, judged = 0 },
  },
}
