-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "controls.bracket",
  title = "A failed control is followed by a good one the same day",
  severity = "at-risk",
  duty = "practice",
  basis = { "CLSI C24 (from memory)", "common practice, no source" },
  on = "control",
  subject = { "analyzer", "level", "record" },
  facts = { "control_failed", "good_later_that_day" },
  finding = "each",
  check = function(failed, good_later)
    if not failed then return nil end
    return good_later
  end,
  affects = function(f)
    return tests { analyzer = f.analyzer, method = f.method, lot = f.lot, after = f.last_good, before = f.run }
  end,
  says = "The {level} control on {analyzer} at {at} failed ({result}) and no good one followed that day: the " ..
    "results since the last good one are in doubt",
  remedy = "Find the cause and write it down. The laboratory director reviews the results listed, which were " ..
    "given since the last good control.",
  about = "Affected are the tests on the same strip lot between the last good control of the level and the failed " ..
    "one: nobody knows when it went wrong.",
  examples = {
    { "failed and left",
      controls = { { performed_at = "2026-10-07 08:00" }, { performed_at = "2026-10-08 12:00", result = "9.9" } },
      tests = { { performed_at = "2026-10-07 07:00" }, { performed_at = "2026-10-07 09:00" },
        { performed_at = "2026-10-08 11:00" }, { performed_at = "2026-10-08 13:00" } },
      finds = { { analyzer = "A1", level = "low", record = "2026-10-08 12:00 A1 C1 low", tests = { "T2", "T3" } } },
      judged = 1 },
    { "good later that day",
      controls = { { performed_at = "2026-10-08 08:00", result = "9.9" }, { performed_at = "2026-10-08 17:00" } },
      finds = {}, judged = 1, met = 1 },
    { "a good one in its minute may have come before it",
      controls = { { performed_at = "2026-10-08 08:00", result = "9.9" }, { performed_at = "2026-10-08 08:00" } },
      finds = { { events = 1 } } },
    { "a good one in its minute is no end of what is in doubt before it",
      controls = { { performed_at = "2026-10-07 08:00" }, { performed_at = "2026-10-08 12:00" },
        { performed_at = "2026-10-08 12:00", result = "9.9", sequence = "9" } },
      tests = { { performed_at = "2026-10-07 07:00" }, { performed_at = "2026-10-07 09:00" } },
      finds = { { tests = { "T2" } } } },
    { "a good one in the next minute, and one that says nothing in its own",
      controls = { { performed_at = "2026-10-08 08:00", result = "9.9" }, { performed_at = "2026-10-08 08:00" },
        { performed_at = "2026-10-08 08:01" } }, finds = {}, judged = 1, met = 1 },
    { "good the next day is too late",
      controls = { { performed_at = "2026-10-08 23:59", result = "9.9" }, { performed_at = "2026-10-09 00:00" } },
      finds = { { events = 1 } } },
    { "tests on another lot are not touched", controls = { { performed_at = "2026-10-08 12:00", result = "9.9" } },
      tests = { { performed_at = "2026-10-08 11:00", lot = "S2", code = "42" } }, finds = { { tests = {} } } },
    { "a good control asks for nothing", controls = { {} }, finds = {}, judged = 0 },
  },
}
