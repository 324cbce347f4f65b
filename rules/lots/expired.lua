-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "lots.expired",
  title = "No run on a lot past its expiry date",
  severity = "at-risk",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1)" },
  on = "run",
  subject = { "analyzer", "lot" },
  facts = { "day", "lot_expires_on" },
  check = function(day, expires)
    return day <= expires
  end,
  says = "{events:run} on {analyzer} used lot {lot}, which expired on {lot_expires_on}",
  remedy = "Throw the lot away and write the day into the lots log. Open a lot in date and run controls on it. " ..
    "The laboratory director reviews the results listed.",
  about = "The day is the testing day: what runs after midnight and before the site's day_starts_at belongs to the " ..
    "day before.",
  examples = {
    { "the day after", lots = { { lot = "S1", method = "strip", use = "reagent", expires_on = "2026-10-07" } },
      tests = { { performed_at = "2026-10-08 09:00" } },
      finds = { { analyzer = "A1", lot = "S1", tests = { "T1" } } }, judged = 1 },
    { "in date", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "on its last day", lots = { { lot = "S1", method = "strip", use = "reagent", expires_on = "2026-10-08" } },
      tests = { { performed_at = "2026-10-08 23:59" } }, finds = {}, met = 1 },
    { "a night shift's day begins at six", settings = { site = "day_starts_at: \"06:00\"" },
      lots = { { lot = "S1", method = "strip", use = "reagent", expires_on = "2026-10-07" } },
      tests = { { performed_at = "2026-10-08 05:59" }, { performed_at = "2026-10-08 06:00" } },
      finds = { { tests = { "T2" } } }, judged = 2 },
    { "an unknown lot is named by lots.known", tests = { { lot = "S9" } }, finds = {}, judged = 0 },
  },
}
