-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "own.as-the-book-says",
  title = "Training is renewed as often as the rulebook asks",
  severity = "notice",
  duty = "policy",
  basis = { "the clinic's own policy" },
  subject = { "method" },
  finding = "state",
  check = function(site)
    for _, method in ipairs(site.methods) do
      judge { ok = site.param("every_months", method, "people.competency") >= 12, method = method }
    end
  end,
  says = "Assessments for {method} are asked for more than once a year",
  remedy = "Nothing; it is only counted.",
  examples = {
    { "the book's default, and a method file's own",
      settings = { strip = "competency: {every_months: 6}" }, finds = { { method = "strip" } }, judged = 3, met = 2 },
  },
}
