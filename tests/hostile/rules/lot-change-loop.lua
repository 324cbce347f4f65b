-- SPDX-License-Identifier: GPL-3.0-or-later
-- Asks for ever for something that the host has to look for to the end.
return rule {
  id = "hostile.lot-change-loop", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  subject = { "record" }, says = "hostile {day:day} {at:time}", remedy = "none", examples = { { "none", finds = {} } },
  check = function(site)
    while true do next_lot_change(0) end
  end,
}
