-- SPDX-License-Identifier: GPL-3.0-or-later
-- Answers with a number.
return rule {
  id = "hostile.wrong-answer", title = "hostile", severity = "notice", duty = "practice", basis = { "none" },
  on = "test", subject = { "analyzer" }, facts = { "day", "analyzer" },
  check = function(day, analyzer)
    return day
  end,
  says = "hostile", remedy = "none", examples = { { "none", finds = {} } },
}
