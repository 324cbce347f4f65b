-- SPDX-License-Identifier: GPL-3.0-or-later
-- Never ends.
return rule {
  id = "hostile.endless-loop", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    while true do end
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
