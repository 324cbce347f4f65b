-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "own.nobody",
  title = "It asks for a parameter of a rule that is not there",
  severity = "notice",
  duty = "policy",
  basis = { "the clinic's own policy" },
  subject = {},
  finding = "state",
  check = function(site) judge { ok = site.param("days", nil, "own.somebody") > 0 } end,
  says = "It cannot be judged",
  remedy = "Nothing.",
  examples = { { "there is no such rule", finds = {} } },
}
