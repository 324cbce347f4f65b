-- SPDX-License-Identifier: GPL-3.0-or-later
-- Loads code.
return rule {
  id = "hostile.bytecode", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    return load("return true")()
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
