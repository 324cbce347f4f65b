-- SPDX-License-Identifier: GPL-3.0-or-later
-- Walks all runs in search of one that is not there, for ever: little work for Lua, much for the host.
return rule {
  id = "hostile.filter-loop", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  subject = { "record" }, says = "hostile {day:day} {at:time}", remedy = "none", examples = { { "none", finds = {} } },
  check = function(site)
    while true do for run in site.runs({ analyzer = "none" }) do end end
  end,
}
