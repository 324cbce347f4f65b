-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "records.late",
  title = "Entries are written within a day of what they tell",
  severity = "practice",
  duty = "practice",
  basis = { "common practice, no source" },
  on = "entry",
  params = { max_hours = { 24, unit = "h", meaning = "how long after the event an entry may be written" } },
  subject = { detail = "kind" },
  facts = { "at", "recorded_at", "max_hours" },
  check = function(at, written, hours)
    return written - at <= hours * 3600
  end,
  says = "Written more than {max_hours} hours after the event: {events:entry:entries} in the {kind} log, the " ..
    "first at {recorded_at}",
  remedy = "Write entries when things happen. Note where the late entries were taken from; if from memory, say so.",
  examples = {
    { "a minute more than a day", tests = { { performed_at = "2026-10-08 09:00", recorded_at = "2026-10-09 09:01" } },
      finds = { { detail = "tests", tests = { "T1" } } }, judged = 1 },
    { "exactly a day", tests = { { performed_at = "2026-10-08 09:00", recorded_at = "2026-10-09 09:00" } },
      finds = {}, judged = 1, met = 1 },
    { "other logs are judged apart",
      cleaning = { { cleaned_at = "2026-10-08 16:00", recorded_at = "2026-10-12 09:00" } },
      finds = { { detail = "cleaning", tests = {} } } },
    { "a site may set another limit", settings = { site = "policy: {records.late: {max_hours: 48}}" },
      tests = { { performed_at = "2026-10-08 09:00", recorded_at = "2026-10-10 09:00" } }, finds = {}, met = 1 },
    { "the log does not say when it was written", tests = { {} }, finds = {}, judged = 0 },
  },
}
