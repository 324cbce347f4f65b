-- SPDX-License-Identifier: GPL-3.0-or-later
-- Catches its own stop.
return rule {
  id = "hostile.protected-call", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    return pcall(function() while true do end end)
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
