-- SPDX-License-Identifier: GPL-3.0-or-later
-- Long texts that the host must keep.
return rule {
  id = "hostile.specimen-bomb", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  subject = { "record" }, says = "hostile {day:day} {at:time}", remedy = "none", examples = { { "none", finds = {} } },
  check = function(site)
    local long = string.rep("x", 200000)
    while true do site.runs({ specimen = long }) end
  end,
}
