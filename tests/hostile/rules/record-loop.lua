-- SPDX-License-Identifier: GPL-3.0-or-later
-- Asks for the field that is dearest to make, for ever.
return rule {
  id = "hostile.record-loop", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  subject = { "record" }, says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
  check = function(site)
    local run = site.run(0)
    while true do local x = run.record end
  end,
}
