-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "analyzer.run-time",
  title = "No run begins before the one before it can have ended",
  severity = "at-risk",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1)" },
  on = "run",
  subject = { "analyzer" },
  facts = { "seconds_since_previous", "seconds_written", "run_seconds" },
  check = function(seconds, written, needed)
    local slack = written and 0 or 59
    return seconds + slack >= needed
  end,
  affects = function(f)
    return { f.previous_run, f.run }
  end,
  says = "{events:run} on {analyzer} came less than {run_seconds} s after the run before; a result needs that long",
  remedy = "Look at the analyzer's memory: are the times right, were the timed steps kept? Write down what you " ..
    "find. The laboratory director reviews the results listed.",
  about = "A result takes run_seconds of the method file. Where a time has no seconds, 59 seconds are allowed.",
  examples = {
    { "a second too early",
      tests = { { performed_at = "2026-10-08 09:00:00" }, { performed_at = "2026-10-08 09:04:29" } },
      finds = { { analyzer = "A1", events = 1, tests = { "T1", "T2" } } }, judged = 1 },
    { "exactly as long as a run takes",
      tests = { { performed_at = "2026-10-08 09:00:00" }, { performed_at = "2026-10-08 09:04:30" } },
      finds = {}, judged = 1, met = 1 },
    { "without seconds 59 s of slack: four minutes are enough for 270 s",
      tests = { { performed_at = "2026-10-08 09:00" }, { performed_at = "2026-10-08 09:04" } },
      finds = {}, met = 1 },
    { "four minutes and 59 s are not five minutes", settings = { strip = "run_seconds: 300" },
      tests = { { performed_at = "2026-10-08 09:00" }, { performed_at = "2026-10-08 09:04" } },
      finds = { { events = 1 } } },
    { "without seconds, three minutes",
      tests = { { performed_at = "2026-10-08 09:00" }, { performed_at = "2026-10-08 09:03:00" } },
      finds = { { events = 1 } } },
    { "the first run has none before it", tests = { {} }, finds = {}, judged = 0 },
    { "tests side by side on a bench",
      tests = { { analyzer = "B1", lot = "K1", code = "", result = "negative", unit = "" },
        { analyzer = "B1", lot = "K1", code = "", result = "negative", unit = "" } },
      finds = {}, judged = 0 },
  },
}
