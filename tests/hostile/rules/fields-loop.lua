-- SPDX-License-Identifier: GPL-3.0-or-later
-- Has the loop over runs hand out sixteen fields each turn, for ever: one instruction for Lua, much for the host.
return rule {
  id = "hostile.fields-loop", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  subject = { "record" }, says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
  check = function(site)
    while true do
      for _ in site.runs({}, "record", "record", "record", "record", "record", "record", "record", "record", "record",
        "record", "record", "record", "record", "record", "record", "record") do
      end
    end
  end,
}
