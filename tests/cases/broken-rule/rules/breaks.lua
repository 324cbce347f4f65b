-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "own.breaks",
  title = "A rule with an error in it",
  severity = "practice",
  duty = "practice",
  basis = { "none: it is broken" },
  on = "test",
  subject = { "analyzer" },
  facts = { "day" },
  check = function(day)
    return day.month == 10
  end,
  says = "{analyzer}",
  remedy = "none",
  examples = { { "a test", tests = { {} }, finds = {} } },
}
