-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "lots.open-life",
  title = "No test from a container that has been open too long",
  severity = "at-risk",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1)" },
  on = "test",
  needs = "openings",
  subject = { "analyzer", "lot" },
  facts = { "day", "open_life_days", "lot_opened_on?" },
  check = function(day, life, opened)
    return opened ~= nil and day <= opened + life
  end,
  says = "{events:test} on {analyzer} from lot {lot}; a container lasts {open_life_days} days, and the latest was " ..
    "opened: {lot_opened_on}",
  remedy = "Throw the open container away, open a new one, write the day on it and into the openings log. The " ..
    "laboratory director reviews the results listed.",
  examples = {
    { "the day after its life", openings = { { lot = "S1", opened_on = "2026-07-09" } }, without = { "openings" },
      tests = { { performed_at = "2026-10-08 09:00" } },
      finds = { { analyzer = "A1", lot = "S1", tests = { "T1" } } }, judged = 1 },
    { "on its last day", openings = { { lot = "S1", opened_on = "2026-07-10" } }, without = { "openings" },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = {}, judged = 1, met = 1 },
    { "opened on the day", openings = { { lot = "S1", opened_on = "2026-10-08" } }, without = { "openings" },
      tests = { { performed_at = "2026-10-08 07:00" } }, finds = {}, met = 1 },
    { "never opened", openings = { { lot = "S2", opened_on = "2026-10-01" } }, without = { "openings" },
      tests = { {} }, finds = { { lot = "S1" } } },
    { "no openings log is kept", without = { "openings" }, tests = { {} }, finds = {}, judged = 0 },
    { "a control is no test", openings = { { lot = "S2", opened_on = "2026-10-01" } }, without = { "openings" },
      controls = { {} }, finds = {}, judged = 0 },
  },
}
