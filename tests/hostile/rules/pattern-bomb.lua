-- SPDX-License-Identifier: GPL-3.0-or-later
-- A pattern that would run for minutes inside C.
return rule {
  id = "hostile.pattern-bomb", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    return analyzer:rep(20):find((".-"):rep(20) .. "y") == nil
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
