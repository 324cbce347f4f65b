-- SPDX-License-Identifier: GPL-3.0-or-later
-- Days that no calendar has.
return rule {
  id = "hostile.odd-days", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  subject = { "record" }, says = "hostile {day:day} {at:time}", remedy = "none", examples = { { "none", finds = {} } },
  check = function(site)
    for _, odd in ipairs({ math.tointeger(2 ^ 31) - 1, -1000000, math.tointeger(2 ^ 62) }) do
      judge { ok = false, day = odd, record = "x" .. tostring(odd) }
      site.open_on(odd)
      weekday(odd)
    end
  end,
}
