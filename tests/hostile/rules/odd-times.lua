-- SPDX-License-Identifier: GPL-3.0-or-later
-- Times and days that no calendar has.
return rule {
  id = "hostile.odd-times", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  subject = { "record" }, says = "hostile {day:day} {at:time}", remedy = "none", examples = { { "none", finds = {} } },
  check = function(site)
    for _, odd in ipairs({ math.huge, -math.huge, 0 / 0, 1e300, math.tointeger(2 ^ 62), -5 }) do
      judge { ok = false, at = odd, record = "x" .. tostring(odd) }
      day_of(odd)
    end
  end,
}
