-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "people.competency",
  title = "Whoever tests patients has a current, passed assessment for that test",
  severity = "practice",
  duty = "accreditor",
  basis = { "CAP, waived tests: assessed yearly (2013 edition)", "The Joint Commission WT.03.01.01 (from memory)",
    "common practice, no source" },
  on = "test",
  params = {
    every_months = { 12, unit = "months", meaning = "how long a passed assessment lasts",
      method = "competency.every_months" },
    first_year_months = { unit = "months", meaning = "how long the first one lasts; as every_months if absent",
      method = "competency.first_year_months" },
  },
  subject = { "operator", "method" },
  facts = { "day", "initial_asked", "trained_on?", "assessed_on?", "assessment_failed?", "passed_on?",
    "passed_initial?", "every_months", "first_year_months?" },
  check = function(day, initial_asked, trained, _, failed, passed, passed_initial, months, first_months)
    if initial_asked and trained == nil then return nil end
    if failed or passed == nil then return false end
    return day <= add_months(passed, passed_initial and first_months or months)
  end,
  says = "{operator} ran {events:test} with {method}; latest assessment: {assessed_on}, latest pass: {passed_on}",
  remedy = "Have the person assessed by someone allowed to, now, and enter it in the training log. Until then " ..
    "another operator tests.",
  about = "The latest assessment counts, the worst one of a day. It lasts every_months of the method file; the " ..
    "first one first_year_months. Whoever has none fails here where the method asks for no initial training.",
  examples = {
    { "the day after it ran out", training = { { operator = "ann", event = "competency", held_on = "2025-10-07" } },
      tests = { { performed_at = "2026-10-08 09:00" } },
      finds = { { operator = "ann", method = "strip", tests = { "T1" } } }, judged = 1 },
    { "on its last day", training = { { operator = "ann", event = "competency", held_on = "2025-10-08" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = {}, judged = 1, met = 1 },
    { "a failed assessment counts at once",
      training = { { operator = "ann", event = "competency", held_on = "2026-10-06", outcome = "fail" } },
      tests = { {} }, finds = { { operator = "ann" } } },
    { "month's end: 29 February 2028 lasts a year to 28 February 2029", from = "2029-02-01", to = "2029-03-31",
      training = { { operator = "ann", event = "competency", held_on = "2028-02-29" } },
      tests = { { performed_at = "2029-02-28 09:00" }, { performed_at = "2029-03-01 09:00" } },
      finds = { { tests = { "T2" } } }, judged = 2 },
    { "the first one may last less long",
      settings = { strip = "competency: {initial: yes, every_months: 12, first_year_months: 6, techniques: 2}" },
      training = { { operator = "ann", event = "initial", held_on = "2026-04-07" } },
      tests = { { performed_at = "2026-10-07 09:00" }, { performed_at = "2026-10-08 09:00" } },
      finds = { { tests = { "T2" } } }, judged = 2 },
    { "never assessed, where the method asks for no initial training",
      settings = { strip = "competency: {initial: no, every_months: 12, techniques: 2}" },
      operators = { { operator = "cho", started_on = "2026-10-01" } }, tests = { { operator = "cho" } },
      finds = { { operator = "cho", tests = { "T1" } } }, judged = 1 },
    { "never trained: people.trained says so", operators = { { operator = "cho", started_on = "2026-10-01" } },
      tests = { { operator = "cho" } }, finds = {}, judged = 0 },
  },
}
