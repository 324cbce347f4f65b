-- SPDX-License-Identifier: GPL-3.0-or-later
-- Joins for ever.
return rule {
  id = "hostile.concat-bomb", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    local t = {}
    for i = 1, 1000 do t[i] = analyzer end
    while true do t[1] = table.concat(t) end
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
