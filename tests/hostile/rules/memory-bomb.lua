-- SPDX-License-Identifier: GPL-3.0-or-later
-- Takes all the memory there is.
return rule {
  id = "hostile.memory-bomb", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    local t = {}
    for i = 1, 1e9 do t[i] = analyzer .. i end
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
