-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "people.trained",
  title = "Nobody tests patients before passing the first training on that test",
  severity = "at-risk",
  duty = "accreditor",
  basis = { "CDC, Good Laboratory Practices for Waived Testing Sites, MMWR 2005;54(RR-13):8-19",
    "CAP, waived tests: trained before testing patients (2013 edition)", "The Joint Commission WT.03.01.01" },
  on = "test",
  subject = { "operator", "method" },
  facts = { "operator_known", "initial_asked", "trained_on?" },
  check = function(known, asked, trained)
    if not known or not asked then return nil end
    return trained ~= nil
  end,
  says = "{operator} ran {events:test} with {method} without a passed first training before",
  remedy = "Let this person not test with this method until trained. Train, and enter it in the training log. The " ..
    "laboratory director reviews the results listed.",
  examples = {
    { "no training at all", operators = { { operator = "cho", started_on = "2026-10-01" } },
      tests = { { operator = "cho" } },
      finds = { { operator = "cho", method = "strip", tests = { "T1" } } }, judged = 1 },
    { "trained", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "trained on the day of the test", operators = { { operator = "cho", started_on = "2026-10-01" } },
      training = { { operator = "cho", event = "initial", held_on = "2026-10-08" } },
      tests = { { operator = "cho", performed_at = "2026-10-08 09:00" } }, finds = {}, judged = 1, met = 1 },
    { "failed is not trained", operators = { { operator = "cho", started_on = "2026-10-01" } },
      training = { { operator = "cho", event = "initial", held_on = "2026-10-02", outcome = "fail" } },
      tests = { { operator = "cho" } }, finds = { { operator = "cho" } } },
    { "the method asks for none", settings = { strip = "competency: {initial: no}" },
      operators = { { operator = "cho", started_on = "2026-10-01" } }, tests = { { operator = "cho" } }, finds = {},
      judged = 0 },
    { "an unknown operator is named by people.known", tests = { { operator = "zoe" } }, finds = {}, judged = 0 },
  },
}
