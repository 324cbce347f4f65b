-- SPDX-License-Identifier: GPL-3.0-or-later
local asked = {}
return rule {
  id = "own.asked",
  title = "A rule that breaks when it is asked the same twice",
  severity = "practice",
  duty = "practice",
  basis = { "none: it counts" },
  on = "run",
  subject = { "analyzer" },
  facts = { "analyzer", "is_test" },
  check = function(analyzer, is_test)
    local question = analyzer .. tostring(is_test)
    if asked[question] then error("asked again: " .. question) end
    asked[question] = true
    return true
  end,
  says = "{analyzer}",
  remedy = "none",
  examples = { { "a test", tests = { {} }, finds = {} } },
}
