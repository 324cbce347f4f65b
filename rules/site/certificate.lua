-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "site.certificate",
  title = "Patients are tested only while a certificate is in force",
  severity = "breach",
  duty = "law",
  basis = { "42 CFR 493.35(a)", "42 CFR 493.37(a), (e)(1)" },
  on = "test",
  subject = {},
  facts = { "day", "certificate_issued_on?", "certificate_expires_on?" },
  check = function(day, issued, expires)
    return issued ~= nil and expires ~= nil and issued <= day and day <= expires
  end,
  says = "{events:test} with no certificate in force (issued: {certificate_issued_on}, last day: " ..
    "{certificate_expires_on})",
  remedy = "Stop testing until a certificate is in force. Call the State agency today about renewal. Put the " ..
    "certificate's number and dates into site.yaml, and write down who was told and when. The laboratory " ..
    "director decides about the results listed.",
  examples = {
    { "the day after the last day",
      settings = { site = "certificate: {issued_on: 2025-06-01, expires_on: 2026-10-07}" },
      tests = { { performed_at = "2026-10-08 09:00" } },
      finds = { { events = 1, tests = { "T1" }, from = "2026-10-08 09:00" } }, judged = 1, met = 0 },
    { "in force", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "on the first and on the last day",
      settings = { site = "certificate: {issued_on: 2026-10-07, expires_on: 2026-10-08}" },
      tests = { { performed_at = "2026-10-07 08:00" }, { performed_at = "2026-10-08 23:59" } }, finds = {},
      judged = 2, met = 2 },
    { "no certificate at all", settings = { site = "-certificate" }, tests = { {} }, finds = { { events = 1 } } },
    { "a control is no patient test", settings = { site = "-certificate" }, controls = { {} }, finds = {},
      judged = 0 },
  },
}
