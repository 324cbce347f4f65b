-- SPDX-License-Identifier: GPL-3.0-or-later
-- Tests of findings, more than memory holds.
return rule {
  id = "hostile.judge-many", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  subject = { "record" }, says = "hostile {day:day} {at:time}", remedy = "none", examples = { { "none", finds = {} } },
  check = function(site)
    local tests = {}
    for i = 1, 100000 do tests[i] = i % 100 end
    for i = 1, 1e9 do judge { ok = false, at = i, record = "x", tests = tests } end
  end,
}
