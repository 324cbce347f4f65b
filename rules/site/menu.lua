-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "site.menu",
  title = "Only waived tests that are on the site's menu are run",
  severity = "breach",
  duty = "law",
  basis = { "42 CFR 493.15(c)", "42 CFR 493.37(g)", "42 CFR 493.39(a)" },
  on = "test",
  subject = { "analyzer", "method" },
  facts = { "on_menu", "waived" },
  check = function(on_menu, waived)
    return on_menu and waived
  end,
  says = "{events:test} on {analyzer} with {method}, which is not a waived test on the site's menu",
  remedy = "Stop this test until it is clear that it is waived and on the menu. If it is, put it on the menu in " ..
    "site.yaml. If not, the laboratory director decides about the results listed.",
  examples = {
    { "not on the menu", settings = { site = "menu: [meter]" }, tests = { {} },
      finds = { { method = "strip", analyzer = "A1", tests = { "T1" } } }, judged = 1 },
    { "on the menu and waived", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "on the menu but not waived", settings = { strip = "waived: no" }, tests = { {} }, finds = { { events = 1 } } },
    { "a control is no patient test", settings = { site = "menu: []" }, controls = { {} }, finds = {}, judged = 0 },
    { "a run whose method cannot be told", tests = { { analyzer = "X9" } }, finds = {}, judged = 0 },
  },
}
