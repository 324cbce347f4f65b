-- SPDX-License-Identifier: GPL-3.0-or-later
-- One string of a terabyte.
return rule {
  id = "hostile.string-bomb", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    return #analyzer:rep(1 << 40) > 0
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
