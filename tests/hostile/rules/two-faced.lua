-- SPDX-License-Identifier: GPL-3.0-or-later
-- A file that is a rule when it is loaded, and none when it is run for a site.
if day_of then return 5 end
return rule {
  id = "hostile.two-faced", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  subject = { "record" }, says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
  check = function(site) end,
}
