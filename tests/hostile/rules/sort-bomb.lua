-- SPDX-License-Identifier: GPL-3.0-or-later
-- Sorts for ever.
return rule {
  id = "hostile.sort-bomb", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    local t = {}
    for i = 1, 1000 do t[i] = i end
    for _ = 1, 1e9 do table.sort(t, function(a, b) return a > b end) end
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
