-- SPDX-License-Identifier: GPL-3.0-or-later
-- Opens a file.
return rule {
  id = "hostile.reads-files", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    return io.open("/etc/passwd") ~= nil
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
