-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "lots.known",
  title = "Each strip lot and control lot used is on the lots log",
  severity = "at-risk",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1)", "The Joint Commission: controls can be matched with patient results" },
  on = "lot",
  subject = { "analyzer", lot = "used_lot" },
  facts = { "used_lot_known" },
  check = function(known)
    return known
  end,
  says = "{events:run} on {analyzer} used {use} lot {used_lot}, which is not on the lots log (or has no code or " ..
    "limits there)",
  remedy = "Find the package. Put the lot on the lots log with its expiry date, code or limits. If it cannot be " ..
    "found, the laboratory director reviews the results listed.",
  examples = {
    { "a lot that nobody wrote down", tests = { { lot = "S9" } },
      finds = { { analyzer = "A1", lot = "S9", tests = { "T1" } } }, judged = 1 },
    { "on the log", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "a coded lot without its code", lots = { { lot = "S1", method = "strip", use = "reagent", code = "" } },
      tests = { {} }, finds = { { lot = "S1" } } },
    { "a control is judged for its strip lot and its control lot", controls = { { control_lot = "C9" } },
      finds = { { lot = "C9", tests = {} } }, judged = 2, met = 1 },
    { "a level the control lot has no row for", controls = { { level = "middle" } }, finds = { { lot = "C1" } } },
    { "a control lot without limits", lots = { { lot = "C9", method = "strip", use = "control", level = "low" } },
      controls = { { control_lot = "C9" } }, finds = { { lot = "C9" } }, judged = 2, met = 1 },
    { "a run whose method cannot be told", tests = { { analyzer = "X9", lot = "S9" } }, finds = {}, judged = 0 },
  },
}
