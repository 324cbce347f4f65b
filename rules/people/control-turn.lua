-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "people.control-turn",
  title = "Whoever tests patients takes a turn at the controls",
  severity = "practice",
  duty = "practice",
  basis = { "CDC, Good Laboratory Practices for Waived Testing Sites, MMWR 2005;54(RR-13) (from memory)" },
  params = { tests = {
    meaning = "from how many tests in the period on a turn is asked of a person; not asked if nobody sets it" } },
  subject = { "operator", "method" },
  finding = "state",
  check = function(site)
    local fewest, people, order = site.param "tests", {}, {}
    if not fewest then return end
    for _, place, operator, method, is_test in site.runs({ period = true },
      "place", "operator", "method", "is_test") do
      if method and #site.levels(method) > 0 then
        local who = operator .. "\31" .. method
        local one = people[who]
        if not one then
          one = { operator = operator, method = method, tests = 0, controls = 0, first = place }
          people[who] = one
          table.insert(order, one)
        end
        local kind = is_test and "tests" or "controls"
        one[kind] = one[kind] + 1
      end
    end
    for _, one in ipairs(order) do
      if one.tests >= math.max(fewest, 1) then
        judge { ok = one.controls > 0, operator = one.operator, method = one.method, number = one.tests,
          because = { one.first } }
      end
    end
  end,
  affects = "none",
  says = "{operator} ran {number} tests with {method} and no control",
  remedy = "Let this person run the next controls, with someone looking on, and share them out from then on.",
  about = "Asked only where the site or program sets tests.",
  examples = {
    { "two tests and no control", settings = { site = "policy: {people.control-turn: {tests: 2}}" },
      tests = { {}, { performed_at = "2026-10-09 09:00" } }, controls = { { operator = "ben" } },
      finds = { { operator = "ann", method = "strip", tests = {} } }, judged = 1 },
    { "one control is enough", settings = { site = "policy: {people.control-turn: {tests: 2}}" },
      tests = { {}, { performed_at = "2026-10-09 09:00" } }, controls = { {} }, finds = {}, judged = 1, met = 1 },
    { "one test too few to be asked", settings = { site = "policy: {people.control-turn: {tests: 2}}" },
      tests = { {} }, finds = {}, judged = 0 },
    { "a control before the period", settings = { site = "policy: {people.control-turn: {tests: 1}}" },
      tests = { {} }, controls = { { performed_at = "2026-09-30 08:00" } }, finds = { { operator = "ann" } } },
    { "a method without controls", settings = { site = "policy: {people.control-turn: {tests: 1}}",
        strip = "-controls" }, tests = { {} }, finds = {}, judged = 0 },
    { "not asked where nobody sets it", tests = { {}, {} }, finds = {}, judged = 0 },
  },
}
