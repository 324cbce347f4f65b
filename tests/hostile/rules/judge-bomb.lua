-- SPDX-License-Identifier: GPL-3.0-or-later
-- Long texts in findings, more than memory holds.
return rule {
  id = "hostile.judge-bomb", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  subject = { "record" }, says = "hostile {day:day} {at:time}", remedy = "none", examples = { { "none", finds = {} } },
  check = function(site)
    for i = 1, 1e9 do judge { ok = false, at = i, record = i .. string.rep("x", 100000) } end
  end,
}
