-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "own.endless",
  title = "A rule that never ends",
  severity = "practice",
  duty = "practice",
  basis = { "none: it is broken" },
  on = "test",
  subject = { "analyzer" },
  facts = { "day" },
  check = function(day)
    while true do
      day = day + 1
    end
  end,
  says = "{analyzer}",
  remedy = "none",
  examples = { { "a test", tests = { {} }, finds = {} } },
}
