-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "controls.frequency",
  title = "Good controls of all levels are run as often as the method asks",
  by = "clause_by",
  basis = { "42 CFR 493.15(e)(1), where the package insert asks for it",
    "the site's policy, an accreditor or good practice, where they do" },
  on = "clause",
  subject = { "analyzer", "method", detail = "clause" },
  facts = { "clause_kind", "clause_count?", "at", "day", "good_control_at?", "good_control_day?", "tests_since_good?",
    "good_on_lot", "good_by_operator", "good_since_event?" },
  check = function(kind, count, at, day, good_at, good_day, tests_between, on_lot, by_operator, since_event)
    if kind == "each day" then return good_day == day end
    if kind == "each lot" then return on_lot end
    if kind == "each operator" then return by_operator end
    if kind == "every days" then return good_at ~= nil and at - good_at <= count * 86400 end
    if kind == "every tests" then return tests_between ~= nil and tests_between < count end
    return since_event ~= false
  end,
  says = "{events:test} on {analyzer} without the controls that {method} asks for: {clause} (the latest good ones " ..
    "of all levels: {good_control_at})",
  remedy = "Run controls of all levels now. If they are good, go on. If not, stop testing. Write down what was " ..
    "done. The laboratory director reviews the results listed.",
  about = "Each clause of the method file's controls is judged for each test. A control counts if its result is " ..
    "within the limits of its lot and it is not marked as not accepted; all levels are needed.",
  examples = {
    { "no control at all that day", settings = { strip = "controls: {levels: [low, high], when: [{each: day}]}" },
      tests = { {} },
      finds = { { analyzer = "A1", method = "strip", detail = "each day", tests = { "T1" }, severity = "breach",
          duty = "insert" } }, judged = 1 },
    { "both levels in the minute of the test: a control goes before a test",
      settings = { strip = "controls: {levels: [low, high], when: [{each: day}]}" },
      controls = { { performed_at = "2026-10-08 09:00" },
        { performed_at = "2026-10-08 09:00", level = "high", result = "10.0" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = {}, judged = 1, met = 1 },
    { "but not where the analyzer's counter says that the test came first",
      settings = { strip = "controls: {levels: [low], when: [{each: day}]}" },
      controls = { { performed_at = "2026-10-08 09:00", sequence = "12" } },
      tests = { { performed_at = "2026-10-08 09:00", sequence = "11" },
        { performed_at = "2026-10-08 09:00", sequence = "13" } }, finds = { { tests = { "T1" } } }, judged = 2 },
    { "one level is not enough", settings = { strip = "controls: {levels: [low, high], when: [{each: day}]}" },
      controls = { { performed_at = "2026-10-08 08:00" } }, tests = { {} }, finds = { { detail = "each day" } } },
    { "exactly 30 times 24 hours",
      settings = { strip = "controls: {levels: [low], when: [{every_days: 30, by: policy}]}" },
      controls = { { performed_at = "2026-09-08 09:00" } },
      tests = { { performed_at = "2026-10-08 09:00" }, { performed_at = "2026-10-08 09:01" } },
      finds = { { detail = "every 30 days", tests = { "T2" }, severity = "practice", duty = "policy" } },
      judged = 2 },
    { "at most one test between for every two",
      settings = { strip = "controls: {levels: [low], when: [{every_tests: 2}]}" },
      controls = { { performed_at = "2026-10-08 08:00" } },
      tests = { { performed_at = "2026-10-08 09:00" }, { performed_at = "2026-10-08 09:10" },
        { performed_at = "2026-10-08 09:20" } },
      finds = { { detail = "every 2 tests", tests = { "T3" } } }, judged = 3, met = 2 },
    { "after a repair", settings = { strip = "controls: {levels: [low], when: [{after: [repair]}]}" },
      controls = { { performed_at = "2026-10-08 08:00" } },
      maintenance = { { done_at = "2026-10-08 08:30", analyzer = "A1", event = "repair" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = { { detail = "after" } } },
    { "a failed control is none", settings = { strip = "controls: {levels: [low], when: [{each: lot}]}" },
      controls = { { performed_at = "2026-10-08 08:00", result = "9.9" } }, tests = { {} },
      finds = { { detail = "each lot" } } },
    { "the method has no controls", settings = { strip = "-controls" }, tests = { {} }, finds = {}, judged = 0 },
  },
}
