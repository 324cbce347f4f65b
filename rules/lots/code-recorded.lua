-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "lots.code-recorded",
  title = "The code that the analyzer showed is written down at each run",
  severity = "practice",
  duty = "practice",
  basis = { "common practice, no source" },
  on = "run",
  subject = { "analyzer" },
  facts = { "coded", "code?" },
  check = function(coded, code)
    if not coded then return nil end
    return code ~= nil
  end,
  says = "{events:run} on {analyzer} without the code that it showed",
  remedy = "From now on copy the code from the display at each run. Look into the analyzer's memory for the codes " ..
    "that are missing, and note where they come from.",
  examples = {
    { "left empty", tests = { { code = "" } }, finds = { { analyzer = "A1", tests = { "T1" } } }, judged = 1 },
    { "written down", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "a streak ends with a run that has it",
      tests = { { code = "" }, { performed_at = "2026-10-08 10:00", code = "" },
        { performed_at = "2026-10-08 11:00" }, { performed_at = "2026-10-08 12:00", code = "" } },
      finds = { { events = 2, tests = { "T1", "T2" } }, { events = 1, tests = { "T4" } } }, judged = 4, met = 1 },
    { "any code counts as written", tests = { { code = "0" } }, finds = {}, met = 1 },
    { "a method without codes",
      tests = { { analyzer = "G1", lot = "M1", code = "", result = "100", unit = "mg/dL" } }, finds = {},
      judged = 0 },
  },
}
