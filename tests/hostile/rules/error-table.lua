-- SPDX-License-Identifier: GPL-3.0-or-later
-- Stops with a value that is no text.
return rule {
  id = "hostile.error-table", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    error({})
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
