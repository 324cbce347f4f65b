-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "records.future",
  title = "Nothing is written down before it happened",
  severity = "practice",
  duty = "practice",
  basis = { "common practice, no source" },
  on = "entry",
  params = { minutes = { 5, unit = "min", meaning = "by how much clocks may differ" } },
  subject = { detail = "kind" },
  facts = { "at", "recorded_at", "minutes" },
  check = function(at, written, minutes)
    return at - written <= minutes * 60
  end,
  says = "Written before the event: {events:entry:entries} in the {kind} log, the first at {recorded_at}",
  remedy = "Ask who wrote them. Were the clocks wrong, or was it filled in ahead? Correct with a note; nobody " ..
    "fills in ahead.",
  examples = {
    { "six minutes ahead", tests = { { performed_at = "2026-10-08 09:06", recorded_at = "2026-10-08 09:00" } },
      finds = { { detail = "tests", tests = { "T1" } } }, judged = 1 },
    { "five minutes are within the clocks",
      tests = { { performed_at = "2026-10-08 09:05", recorded_at = "2026-10-08 09:00" } }, finds = {}, judged = 1,
      met = 1 },
    { "written afterwards", tests = { { performed_at = "2026-10-08 09:00", recorded_at = "2026-10-08 09:10" } },
      finds = {}, met = 1 },
    { "the log does not say when it was written", tests = { {} }, finds = {}, judged = 0 },
  },
}
