-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "site.certificate-term",
  title = "No certificate runs longer than two years",
  severity = "breach",
  duty = "law",
  basis = { "42 CFR 493.37(e)(1)" },
  subject = {},
  finding = "state",
  check = function(site)
    local certificate = site.certificate
    if not (certificate and certificate.issued_on and certificate.expires_on) then return end
    local last = add_months(certificate.issued_on, 24)
    judge { ok = certificate.expires_on <= last, expires = certificate.expires_on, last = last,
      because = { certificate } }
  end,
  says = "The certificate is written down as good until {expires:day}; two years end on {last:day}",
  remedy = "Compare the dates in site.yaml with the paper certificate. If the paper says the same, call the State " ..
    "agency.",
  examples = {
    { "a day more than two years",
      settings = { site = "certificate: {issued_on: 2025-03-01, expires_on: 2027-03-02}" },
      finds = { { events = 1 } }, judged = 1 },
    { "the same day two years on",
      settings = { site = "certificate: {issued_on: 2025-03-01, expires_on: 2027-03-01}" },
      finds = {}, judged = 1, met = 1 },
    { "issued on 29 February", settings = { site = "certificate: {issued_on: 2024-02-29, expires_on: 2026-03-01}" },
      finds = { { events = 1 } } },
    { "one year", settings = { site = "certificate: {issued_on: 2025-11-01, expires_on: 2026-10-31}" }, finds = {},
      met = 1 },
    { "without dates there is nothing to measure", settings = { site = "-certificate" }, finds = {}, judged = 0 },
  },
}
