-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "controls.acceptance",
  title = "Controls are marked as what they are",
  severity = "practice",
  duty = "practice",
  basis = { "common practice, no source" },
  on = "control",
  subject = { "analyzer", "record" },
  facts = { "accepted", "control_within", "noted" },
  finding = "each",
  affects = "none",
  check = function(accepted, within, noted)
    if accepted then return within end
    return not within or noted
  end,
  says = "The control on {analyzer} at {at} gave {result} and was marked accepted: {accepted}; within its limits: " ..
    "{control_within}",
  remedy = "Compare the result with the limits of the control lot. Correct the mark, or add a note that says why " ..
    "it was not accepted.",
  examples = {
    { "outside and accepted", controls = { { result = "9.9", accepted = "yes" } },
      finds = { { analyzer = "A1", record = "2026-10-08 08:00 A1 C1 low" } }, judged = 1 },
    { "inside and accepted", controls = { { accepted = "yes" } }, finds = {}, judged = 1, met = 1 },
    { "inside, not accepted, no word why", controls = { { accepted = "no" } }, finds = { { events = 1 } } },
    { "inside, not accepted, with a note", controls = { { accepted = "no", note = "strip dropped" } }, finds = {},
      met = 1 },
    { "at the limit is inside",
      lots = { { lot = "C1", method = "strip", use = "control", level = "low", low = "4.5", high = "5.5" } },
      controls = { { result = "5.50", accepted = "yes" } }, finds = {}, met = 1 },
    { "not marked", controls = { { accepted = "" } }, finds = {}, judged = 0 },
  },
}
