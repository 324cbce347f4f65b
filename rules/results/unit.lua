-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "results.unit",
  title = "Results carry the method's unit",
  severity = "practice",
  duty = "practice",
  basis = { "ISO 15189:2022, 7.4.1 (from memory)", "common practice, no source" },
  on = "test",
  subject = { "analyzer", "method" },
  facts = { "unit_known" },
  check = function(known)
    return known
  end,
  says = "{events:test} on {analyzer} with the unit {unit}, which {method} does not use",
  remedy = "Look at the analyzer's display and write its unit, with a note. If the analyzer is set to another " ..
    "unit, set it back.",
  examples = {
    { "another test's unit", tests = { { unit = "mg/dL" } },
      finds = { { analyzer = "A1", method = "strip", tests = { "T1" } } }, judged = 1 },
    { "the method's unit", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "one that the method also takes", tests = { { unit = "mmol/mol", result = "53" } }, finds = {}, met = 1 },
    { "no unit written", tests = { { unit = "" } }, finds = {}, judged = 0 },
    { "a different spelling is a different unit", tests = { { unit = "MMOL/MOL" } }, finds = { {} } },
  },
}
