-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "lots.early",
  title = "A lot is used only between the day it came in and the day it was thrown away",
  severity = "practice",
  duty = "practice",
  basis = { "ISO 15189:2022, 6.6 (from memory)", "common practice, no source" },
  on = "run",
  subject = { "analyzer", "lot" },
  facts = { "day", "lot_received_on", "lot_discarded_on?" },
  check = function(day, received, discarded)
    return day >= received and (discarded == nil or day <= discarded)
  end,
  says = "{events:run} on {analyzer} used lot {lot} on days when it was not at hand (received: {lot_received_on}, " ..
    "discarded: {lot_discarded_on})",
  remedy = "One of the dates is wrong, or the wrong lot was written down. Find out which, correct the log with a " ..
    "note.",
  examples = {
    { "the day before it came in",
      lots = { { lot = "S1", method = "strip", use = "reagent", received_on = "2026-10-09" } },
      tests = { { performed_at = "2026-10-08 09:00" } },
      finds = { { analyzer = "A1", lot = "S1", tests = { "T1" } } }, judged = 1 },
    { "the day it came in", lots = { { lot = "S1", method = "strip", use = "reagent", received_on = "2026-10-08" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = {}, judged = 1, met = 1 },
    { "after it was thrown away",
      lots = { { lot = "S1", method = "strip", use = "reagent", discarded_on = "2026-10-07" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = { { lot = "S1" } } },
    { "on the day it was thrown away",
      lots = { { lot = "S1", method = "strip", use = "reagent", discarded_on = "2026-10-08" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = {}, met = 1 },
    { "an unknown lot is named by lots.known", tests = { { lot = "S9" } }, finds = {}, judged = 0 },
  },
}
