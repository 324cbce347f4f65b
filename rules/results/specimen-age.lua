-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "results.specimen-age",
  title = "Specimens are tested while they are fresh enough",
  severity = "at-risk",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1)" },
  on = "test",
  subject = { "record" },
  facts = { "at", "collected_at", "max_specimen_minutes", "run_seconds?" },
  finding = "each",
  check = function(at, collected, minutes, run_seconds)
    return at - collected <= minutes * 60 + (run_seconds or 0)
  end,
  says = "{record}: the specimen was taken at {collected_at}, the result came at {at}; {max_specimen_minutes} " ..
    "minutes are allowed before the run",
  remedy = "Take a new specimen if the patient is still there. The laboratory director reviews the result. Write " ..
    "down why it took so long.",
  examples = {
    { "a minute too old", tests = { { collected_at = "2026-10-08 08:50", performed_at = "2026-10-08 09:00" } },
      finds = { { record = "T1", tests = { "T1" } } }, judged = 1 },
    { "exactly five minutes and the run's 270 seconds",
      tests = { { collected_at = "2026-10-08 08:50:30", performed_at = "2026-10-08 09:00:00" } }, finds = {},
      judged = 1, met = 1 },
    { "a second more", tests = { { collected_at = "2026-10-08 08:50:29", performed_at = "2026-10-08 09:00:00" } },
      finds = { {} } },
    { "not written down", tests = { {} }, finds = {}, judged = 0 },
    { "the method sets no limit", settings = { strip = "-max_specimen_minutes" },
      tests = { { collected_at = "2026-10-08 01:00" } }, finds = {}, judged = 0 },
  },
}
