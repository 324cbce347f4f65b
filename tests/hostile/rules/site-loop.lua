-- SPDX-License-Identifier: GPL-3.0-or-later
-- A site rule that walks the site's runs for ever.
return rule {
  id = "hostile.site-loop", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  subject = { "record" },
  check = function(site)
    while true do for run in site.runs() do judge { ok = true, at = run.at, record = "x" } end end
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
