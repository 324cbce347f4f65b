-- SPDX-License-Identifier: GPL-3.0-or-later
-- Changes what strings can do.
return rule {
  id = "hostile.metatable", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    getmetatable("").__index = nil
    return true
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
