-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "site.certificate-renewal",
  title = "The certificate is renewed before it runs out",
  severity = "notice",
  duty = "law",
  basis = { "42 CFR 493.37(f) (from memory)", "its lead time: common practice, no source" },
  params = { days = { 90, unit = "days", meaning = "how long before its end the certificate is named" } },
  subject = {},
  finding = "state",
  check = function(site)
    local certificate = site.certificate
    if not (certificate and certificate.expires_on) then return end
    judge { ok = certificate.expires_on > site.as_of + site.param "days", expires = certificate.expires_on,
      because = { certificate } }
  end,
  says = "The certificate's last day is {expires:day}",
  remedy = "Send the renewal and pay the fee now. Write down the day it was sent.",
  examples = {
    { "runs out within 90 days", settings = { site = "certificate: {issued_on: 2025-03-01, expires_on: 2026-12-31}" },
      finds = { { events = 1 } }, judged = 1 },
    { "on the 90th day", settings = { site = "certificate: {issued_on: 2025-03-01, expires_on: 2027-01-29}" },
      finds = { {} } },
    { "on the 91st day", settings = { site = "certificate: {issued_on: 2025-03-01, expires_on: 2027-01-30}" },
      finds = {}, met = 1 },
    { "has run out", settings = { site = "certificate: {issued_on: 2024-03-01, expires_on: 2026-02-28}" },
      finds = { {} } },
    { "no certificate: another rule says so", settings = { site = "-certificate" }, finds = {}, judged = 0 },
  },
}
