-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "lots.code-match",
  title = "The code in the analyzer is the code of the strip lot",
  severity = "at-risk",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1)" },
  on = "run",
  subject = { "analyzer" },
  facts = { "coded", "code", "lot_code" },
  check = function(coded, code, lot_code)
    if not coded then return nil end
    return code == lot_code
  end,
  says = "{events:run} on {analyzer} with code {code}; lot {lot} has code {lot_code}",
  remedy = "Put the chip that came with the lot into the analyzer, check the code on the display, run controls. " ..
    "Enter the change in the codes log. The laboratory director reviews the results listed.",
  examples = {
    { "the old lot's code", tests = { { lot = "S2", code = "31" } },
      finds = { { analyzer = "A1", tests = { "T1" } } }, judged = 1 },
    { "the same code", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "007 is not 7", lots = { { lot = "S1", method = "strip", use = "reagent", code = "7" } },
      tests = { { code = "007" } }, finds = { { events = 1 } } },
    { "no code written: another rule says so", tests = { { code = "" } }, finds = {}, judged = 0 },
    { "an unknown lot has no code to compare", tests = { { lot = "S9" } }, finds = {}, judged = 0 },
    { "controls count too", controls = { { code = "42" } }, finds = { { tests = {} } } },
  },
}
