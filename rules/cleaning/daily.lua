-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "cleaning.daily",
  title = "An analyzer is cleaned after its last run of the day",
  by = "day_cleaning_by",
  basis = { "42 CFR 493.15(e)(1), where the package insert asks for it", "the site's policy, where that does" },
  on = "day",
  subject = { "analyzer" },
  attribute = { "missing", "early" },
  facts = { "cleaned_that_day", "cleaned_after", "last_run" },
  check = function(cleaned, after)
    if after then return true end
    return false, cleaned and "early" or "missing"
  end,
  affects = function(f)
    return tests { analyzer = f.analyzer, after = f.last_run, upto = next_daily_at(f.last_run) }
  end,
  says = "{analyzer} was not cleaned after its last run on {events:day}: {span}",
  remedy = "Clean the analyzer now as the package insert says, and enter it. Do not enter past cleanings. The " ..
    "laboratory director reviews the tests listed, run before the next cleaning.",
  about = "'missing': no daily entry at all on one of the days; 'early': there is one, but the last run came " ..
    "after it. An entry in the minute of a run counts as after it. Affected are the tests from then to the next " ..
    "daily cleaning.",
  examples = {
    { "no entry, and the tests up to the next cleaning",
      cleaning = { { cleaned_at = "2026-10-09 16:00" } },
      tests = { { performed_at = "2026-10-08 09:00" }, { performed_at = "2026-10-09 09:00" },
        { performed_at = "2026-10-09 17:00" } },
      finds = { { analyzer = "A1", detail = "missing", from = "2026-10-08", to = "2026-10-09", events = 2,
          tests = { "T2" }, severity = "breach" } }, judged = 2 },
    { "cleaned too early", cleaning = { { cleaned_at = "2026-10-08 08:59" } },
      tests = { { performed_at = "2026-10-08 09:00" } },
      finds = { { analyzer = "A1", detail = "early", tests = {} } } },
    { "in the minute of the last run counts as after it", cleaning = { { cleaned_at = "2026-10-08 09:00" } },
      tests = { { performed_at = "2026-10-08 09:00:40" } }, finds = {}, judged = 1, met = 1 },
    { "a day without runs asks for nothing", finds = {}, judged = 0 },
    { "asked by policy it is no breach", settings = { strip = "cleaning: {by: policy, daily: yes}" }, tests = { {} },
      finds = { { severity = "practice", duty = "policy" } } },
    { "the method does not ask",
      tests = { { analyzer = "B1", lot = "K1", code = "", result = "negative", unit = "" } }, finds = {},
      judged = 0 },
  },
}
