-- SPDX-License-Identifier: GPL-3.0-or-later
-- Calls itself for ever.
return rule {
  id = "hostile.endless-recursion", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    local function deeper(n) return 1 + deeper(n + 1) end
    return deeper(day) > 0
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
